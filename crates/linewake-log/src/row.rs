//! Text of a row, made byte by byte: exact decimals from integers, no floating-point formatting in event rows.

use linewake_model::time::MICROS_PER_SECOND;

const PAIRS: &[u8; 200] = b"0001020304050607080910111213141516171819\
2021222324252627282930313233343536373839\
4041424344454647484950515253545556575859\
6061626364656667686970717273747576777879\
8081828384858687888990919293949596979899";

/// Appends an integer.
pub(crate) fn put_integer(out: &mut Vec<u8>, mut number: u64) {
    if number < 10 {
        out.push(b'0' + number as u8);
        return;
    }
    let mut digits = [0; 20];
    let mut start = digits.len();
    while number >= 100 {
        let pair = 2 * (number % 100) as usize;
        number /= 100;
        start -= 2;
        digits[start..start + 2].copy_from_slice(&PAIRS[pair..pair + 2]);
    }
    if number >= 10 {
        let pair = 2 * number as usize;
        start -= 2;
        digits[start..start + 2].copy_from_slice(&PAIRS[pair..pair + 2]);
    } else {
        start -= 1;
        digits[start] = b'0' + number as u8;
    }
    out.extend_from_slice(&digits[start..]);
}

/// Appends millionths with six decimals: microseconds as seconds, micrograms as grams.
pub(crate) fn put_millionths(out: &mut Vec<u8>, millionths: u64) {
    put_integer(out, millionths / MICROS_PER_SECOND);
    let rest = (millionths % MICROS_PER_SECOND) as usize;
    let (high, middle, low) = (2 * (rest / 10_000), 2 * (rest / 100 % 100), 2 * (rest % 100));
    out.extend_from_slice(&[
        b'.',
        PAIRS[high],
        PAIRS[high + 1],
        PAIRS[middle],
        PAIRS[middle + 1],
        PAIRS[low],
        PAIRS[low + 1],
    ]);
}

/// A field with the quotes that CSV needs (RFC 4180): around commas, quotes and line ends, quotes doubled.
pub(crate) fn quoted(text: &str) -> Vec<u8> {
    let plain = text.bytes().all(|byte| !matches!(byte, b',' | b'"' | b'\n' | b'\r'));
    if plain {
        return text.as_bytes().to_vec();
    }
    let mut field = vec![b'"'];
    for byte in text.bytes() {
        if byte == b'"' {
            field.push(b'"');
        }
        field.push(byte);
    }
    field.push(b'"');
    field
}

/// Reads an integer written by [`put_integer`]: digits only.
#[inline]
pub(crate) fn integer(field: &[u8]) -> Option<u64> {
    // Nineteen digits fit without a look; the largest number has twenty.
    if field.len() > 19 {
        let (start, last) = field.split_at(19);
        return if last.len() == 1 {
            integer(start)?.checked_mul(10)?.checked_add(integer(last)?)
        } else {
            None
        };
    }
    let (mut number, mut wrong) = (0_u64, field.is_empty());
    for &byte in field {
        let digit = byte.wrapping_sub(b'0');
        wrong |= digit > 9;
        number = number.wrapping_mul(10).wrapping_add(u64::from(digit));
    }
    (!wrong).then_some(number)
}

/// Reads a decimal with at most six decimals as millionths.
#[inline]
pub(crate) fn millionths(field: &[u8]) -> Option<u64> {
    if let Some((whole, [b'.', decimals @ ..])) =
        field.len().checked_sub(7).map(|place| field.split_at(place))
    {
        return integer(whole)?.checked_mul(MICROS_PER_SECOND)?.checked_add(integer(decimals)?);
    }
    let point = field.iter().position(|&byte| byte == b'.');
    let (whole, decimals) = match point {
        Some(point) => (&field[..point], &field[point + 1..]),
        None => (field, &field[..0]),
    };
    if decimals.len() > 6 || (point.is_some() && decimals.is_empty()) {
        return None;
    }
    let mut rest = if decimals.is_empty() { 0 } else { integer(decimals)? };
    for _ in decimals.len()..6 {
        rest *= 10;
    }
    integer(whole)?.checked_mul(MICROS_PER_SECOND)?.checked_add(rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(put: impl Fn(&mut Vec<u8>)) -> String {
        let mut out = Vec::new();
        put(&mut out);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn integers_of_every_length_are_written_as_the_standard_library_does() {
        let mut number = 1_u64;
        for _ in 0..20 {
            for near in [number - 1, number, number + 1, number.wrapping_mul(7)] {
                assert_eq!(text(|out| put_integer(out, near)), near.to_string());
            }
            number = number.saturating_mul(10);
        }
        assert_eq!(text(|out| put_integer(out, u64::MAX)), u64::MAX.to_string());
    }

    #[test]
    fn millionths_have_six_decimals_and_come_back() {
        assert_eq!(text(|out| put_millionths(out, 0)), "0.000000");
        assert_eq!(text(|out| put_millionths(out, 4_615_385)), "4.615385");
        assert_eq!(text(|out| put_millionths(out, 28_800_000_001)), "28800.000001");
        assert_eq!(text(|out| put_millionths(out, u64::MAX)), "18446744073709.551615");
        for value in [0, 1, 99, 1_000_000, 405_123_456, u64::MAX] {
            assert_eq!(millionths(text(|out| put_millionths(out, value)).as_bytes()), Some(value));
        }
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for field in
            ["", ".", "1.", ".5", "-1", "+1", "1e3", "1.1234567", "1.2.3", "18446744073709.551616", " 1"]
        {
            assert_eq!(millionths(field.as_bytes()), None, "{field}");
        }
        assert_eq!(millionths(b"12"), Some(12_000_000));
        assert_eq!(millionths(b"0.5"), Some(500_000));
        assert_eq!(integer(b"18446744073709551616"), None);
    }

    #[test]
    fn quotes_stand_where_csv_needs_them() {
        assert_eq!(quoted("blade jam"), b"blade jam");
        assert_eq!(quoted("a,b"), b"\"a,b\"");
        assert_eq!(quoted("12\" roll"), b"\"12\"\" roll\"");
        assert_eq!(quoted(""), b"");
    }
}
