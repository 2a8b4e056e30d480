//! One kind of number through a block: a meter, a shift, the moments.

use super::nibbles::{Reader, Writer};

/// Writes the numbers' differences, each by itself or as runs of the same difference, whichever is
/// shorter.
pub(super) fn write(writer: &mut Writer, numbers: impl Iterator<Item = i64>) {
    let mut before = 0i64;
    let steps: Vec<i64> =
        numbers.map(|number| number.wrapping_sub(std::mem::replace(&mut before, number))).collect();
    let (mut plain, mut runs) = (Writer::default(), Writer::default());
    for step in &steps {
        plain.number(*step);
    }
    for run in steps.chunk_by(|one, other| one == other) {
        runs.number(run[0]);
        runs.count(run.len() as u64 - 1);
    }
    let is_runs = runs.len() < plain.len();
    writer.count(u64::from(is_runs));
    writer.append(if is_runs { &runs } else { &plain });
}

/// Reads so many numbers.
pub(super) fn read(reader: &mut Reader<'_>, length: usize) -> Option<Vec<i64>> {
    let is_runs = reader.count_up_to(1)? == 1;
    let (mut numbers, mut number) = (Vec::with_capacity(length), 0i64);
    while numbers.len() < length {
        let step = reader.number()?;
        let more = if is_runs { reader.count_up_to(length - numbers.len() - 1)? } else { 0 };
        for _ in 0..=more {
            number = number.wrapping_add(step);
            numbers.push(number);
        }
    }
    Some(numbers)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn halves(numbers: &[i64]) -> usize {
        let mut writer = Writer::default();
        write(&mut writer, numbers.iter().copied());
        writer.len()
    }

    #[test]
    fn what_stays_costs_next_to_nothing_and_what_changes_half_a_byte() {
        assert!(halves(&[9; 1000]) < 12);
        let restless: Vec<i64> = (0..1000).map(|at| 40 + at * 7 % 3).collect();
        assert!(halves(&restless) < 1010);
    }

    proptest! {
        #[test]
        fn what_was_written_is_read(numbers: Vec<i64>, small in prop::collection::vec(0..3i64, 0..300)) {
            for numbers in [numbers, small] {
                let mut writer = Writer::default();
                write(&mut writer, numbers.iter().copied());
                let bytes = writer.into_bytes();
                prop_assert_eq!(read(&mut Reader::new(&bytes), numbers.len()), Some(numbers));
            }
        }
    }
}
