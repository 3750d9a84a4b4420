//! Records: how a row stands in the bytes of a page.
//!
//! The SQLite file format (from memory of its published description, "Record Format"): a header of variable-length
//! integers, of which the first says how long the header is and each other one the type and length of a column; then the
//! values, one after another, numbers with the highest byte first.

use rusqlite::types::Value;

/// A variable-length integer and how many bytes it takes: seven bits a byte, the highest first, all eight of the ninth.
pub(super) fn varint(bytes: &[u8]) -> Option<(u64, usize)> {
    let mut value = 0_u64;
    for (n, byte) in bytes.iter().take(9).enumerate() {
        if n == 8 {
            return Some(((value << 8) | u64::from(*byte), 9));
        }
        value = (value << 7) | u64::from(byte & 0x7f);
        if byte & 0x80 == 0 {
            return Some((value, n + 1));
        }
    }
    None
}

/// The values of a record; none when the bytes are no record, or text in it is no UTF-8. What is left over or missing
/// at the end makes it none, too.
pub(super) fn record(payload: &[u8]) -> Option<Vec<Value>> {
    let (header, mut at) = varint(payload)?;
    let header = usize::try_from(header).ok().filter(|header| (at..=payload.len()).contains(header))?;
    let mut body = header;
    let mut values = Vec::new();
    while at < header {
        let (kind, length) = varint(payload.get(at..header)?)?;
        at += length;
        let (value, length) = value(kind, payload.get(body..)?)?;
        values.push(value);
        body += length;
    }
    (at == header && body == payload.len()).then_some(values)
}

/// One value by its serial type, and how many bytes it takes.
fn value(kind: u64, bytes: &[u8]) -> Option<(Value, usize)> {
    let integer = |length: usize| {
        let bytes = bytes.get(..length)?;
        let first = if bytes.first()? & 0x80 == 0 { 0 } else { -1_i64 };
        Some((Value::Integer(bytes.iter().fold(first, |sum, byte| (sum << 8) | i64::from(*byte))), length))
    };
    match kind {
        0 => Some((Value::Null, 0)),
        1..=4 => integer(usize::try_from(kind).ok()?),
        5 => integer(6),
        6 => integer(8),
        7 => {
            let bytes = bytes.first_chunk::<8>()?;
            Some((Value::Real(f64::from_be_bytes(*bytes)), 8))
        }
        8 => Some((Value::Integer(0), 0)),
        9 => Some((Value::Integer(1), 0)),
        10 | 11 => None,
        _ => {
            let length = usize::try_from((kind - 12) / 2).ok()?;
            let bytes = bytes.get(..length)?;
            let value = if kind.is_multiple_of(2) {
                Value::Blob(bytes.to_vec())
            } else {
                Value::Text(String::from_utf8(bytes.to_vec()).ok()?)
            };
            Some((value, length))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_of_variable_length() {
        assert_eq!(varint(&[0x7f, 9]), Some((127, 1)));
        assert_eq!(varint(&[0x81, 0x00]), Some((128, 2)));
        assert_eq!(varint(&[0xff; 9]), Some((u64::MAX, 9)));
        assert_eq!(varint(&[0x80, 0x80]), None);
        assert_eq!(varint(&[]), None);
    }

    #[test]
    fn a_record_has_every_type_and_nothing_left_over() {
        let bytes = [7, 0, 1, 2, 8, 9, 17, 0x80, 0x01, 0x00, b'a', b'b'];
        let want = [
            Value::Null,
            Value::Integer(-128),
            Value::Integer(256),
            Value::Integer(0),
            Value::Integer(1),
            Value::Text("ab".to_owned()),
        ];
        assert_eq!(record(&bytes).unwrap(), want);
        assert_eq!(record(&[2, 7, 0x3f, 0xf0, 0, 0, 0, 0, 0, 0]).unwrap(), [Value::Real(1.0)]);
        assert_eq!(record(&[2, 16, 1, 2]).unwrap(), [Value::Blob(vec![1, 2])]);
        for wrong in [&bytes[..11], &[2, 10], &[2, 15, 0xff], &[3, 1], &[2, 1, 1, 1], &[0x80], &[]] {
            assert_eq!(record(wrong), None, "{wrong:?}");
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_a_record_or_none(bytes in prop::collection::vec(any::<u8>(), 0..64)) {
            if let Some(values) = record(&bytes) {
                prop_assert!(values.len() < bytes.len());
            }
        }
    }
}
