//! What a dialect file may do to a rotator: nothing moves but by an aim, to where it is told.

use super::*;

#[test]
fn no_question_and_no_stop_moves_a_motor_and_an_aim_goes_where_it_is_told() {
    for (base, line, word) in [
        ("az-el-words", "ask.aim.send = \"AZ359 EL95\"", "no question"),
        ("az-el-words", "ask.azimuth.send = [\"AZ10\", \"AZ\"]", "no question"),
        ("az-el-words", "do.stop = \"AZ400 EL180\"", "no stop"),
        ("az-el-words", "do.stop = { send = \"SA SE\", finally = \"AZ0 EL0\" }", "no stop"),
        ("az-el-words", "do.stop = \"AZ EL\"", "no stop"),
        ("az-el-words", "do.aim = \"AZ{az:fix1} EL45.0\"", "{az} and {el}"),
        ("az-el-words", "do.aim = \"EL{el:fix1} AZ{az:fix1}\"", "in this order"),
        ("az-el-words", "do.aim = [\"AZ{az:fix1} EL{el:fix1}\", \"AZ EL\"]", "more than go"),
        ("az-el-words", "do.greeting = \"AZ0 EL0\"", "alone"),
        ("az-el-words", "do.hz = \"AZ EL\"", "alone"),
        ("az-el-words", "prepare.single = [\"out\"]\ndo.out = \"AZ0\"", "alone"),
        ("w-lines", "do.aim = \"W{el:dec3} {az:dec3}\"", "in this order"),
        ("w-lines", "do.aim = \"W{az+90:dec3} {el:dec3}\"", "as they are"),
        ("w-lines", "do.azimuth = \"W{az:dec3} 000\"", "{az}"),
        ("w-lines", "do.azimuth = \"M{az:dec4}\"", "no direction"),
        ("w-lines", "ask.aim.send = \"W000 000\"", "no question"),
        ("w-lines", "ask.aim.send = \"S\"", "no question"),
        ("thirteen-byte", "do.stop = \"57 30 30 30 30 01 30 30 30 30 01 2F 20\"", "no stop"),
        (
            "thirteen-byte",
            "do.aim = \"57 {el+360*ph:dec4} {ph:raw1} {az+360*pv:dec4} {pv:raw1} 2F 20\"",
            "in this order",
        ),
    ] {
        let faults = Dialect::parse("own", &format!("base = \"{base}\"\n{line}")).err().unwrap_or_default();
        assert!(matches!(&faults[..], [fault] if fault.text.contains(word)), "{line}: {faults:?}");
    }
    let apart =
        "base = \"az-el-words\"\ndo.aim = [\"AZ{az:fix1}\", \"EL{el:fix1}\"]\ndo.stop = [\"SA\", \"SE\"]";
    assert!(Dialect::parse("own", apart).is_ok());
}
