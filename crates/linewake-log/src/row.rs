//! Fields of a row: quotes, and exact decimals read as integers.

use linewake_model::time::MICROS_PER_SECOND;

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

/// Reads an integer of digits only.
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
