//! Numbers as radios write them in bytes: two decimal digits in each, the highest first.

/// The number in `bytes`; `None` where one holds no two decimal digits.
pub(super) fn decimal(bytes: &[u8]) -> Option<i64> {
    bytes.iter().try_fold(0, |number, byte| {
        let (tens, units) = (byte >> 4, byte & 15);
        (tens < 10 && units < 10).then(|| number * 100 + i64::from(tens * 10 + units))
    })
}

/// The lowest digits of `number` in `N` bytes.
pub(super) fn decimal_bytes<const N: usize>(mut number: u64) -> [u8; N] {
    let mut bytes = [0; N];
    for byte in bytes.iter_mut().rev() {
        let pair = (number % 100) as u8;
        *byte = pair / 10 * 16 + pair % 10;
        number /= 100;
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_written_two_digits_a_byte_and_read_back() {
        assert_eq!(decimal_bytes(14_595_000), [0x14, 0x59, 0x50, 0x00]);
        assert_eq!(decimal(&[0x14, 0x59, 0x50, 0x00]), Some(14_595_000));
        assert_eq!(decimal_bytes(12_345), [0x23, 0x45]);
        assert_eq!((decimal(&[0x1A]), decimal(&[0xA1]), decimal(&[])), (None, None, Some(0)));
    }
}
