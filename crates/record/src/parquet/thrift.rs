//! The compact protocol of Thrift, in which a Parquet file describes itself.
//!
//! ```text
//! struct = { (delta << 4 | kind) value } 0        delta 0: the id follows as a zigzag varint
//! list   = (size << 4 | kind) values              size 15: the size follows as a varint
//! ```
//!
//! Source: \[ThriftCompact\]. Maps and universal identifiers, which Parquet does not use, are refused.

/// A value of the protocol.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    Flag(bool),
    Byte(i8),
    I16(i16),
    I32(i32),
    I64(i64),
    Real(f64),
    Bytes(Vec<u8>),
    List(Vec<Value>),
    Struct(Vec<(i16, Value)>),
}

impl Value {
    /// A text.
    pub fn text(text: &str) -> Value {
        Value::Bytes(text.as_bytes().to_vec())
    }

    /// The field of that id of a struct.
    pub fn field(&self, id: i16) -> Option<&Value> {
        match self {
            Value::Struct(fields) => fields
                .iter()
                .find(|(known, _)| *known == id)
                .map(|(_, value)| value),
            _ => None,
        }
    }

    /// The whole number in the field of that id.
    pub fn integer(&self, id: i16) -> Option<i64> {
        match self.field(id)? {
            Value::Byte(number) => Some(i64::from(*number)),
            Value::I16(number) => Some(i64::from(*number)),
            Value::I32(number) => Some(i64::from(*number)),
            Value::I64(number) => Some(*number),
            _ => None,
        }
    }

    /// The list in the field of that id.
    pub fn list(&self, id: i16) -> Option<&[Value]> {
        match self.field(id)? {
            Value::List(values) => Some(values),
            _ => None,
        }
    }

    /// The text in the field of that id.
    pub fn text_in(&self, id: i16) -> Option<&str> {
        match self.field(id)? {
            Value::Bytes(bytes) => std::str::from_utf8(bytes).ok(),
            _ => None,
        }
    }

    fn kind(&self) -> u8 {
        match self {
            Value::Flag(true) => 1,
            Value::Flag(false) => 2,
            Value::Byte(_) => 3,
            Value::I16(_) => 4,
            Value::I32(_) => 5,
            Value::I64(_) => 6,
            Value::Real(_) => 7,
            Value::Bytes(_) => 8,
            Value::List(_) => 9,
            Value::Struct(_) => 12,
        }
    }
}

/// Adds a value to `out`; the ids of a struct must ascend.
pub fn encode(value: &Value, out: &mut Vec<u8>) {
    match value {
        Value::Flag(flag) => out.push(if *flag { 1 } else { 2 }),
        Value::Byte(byte) => out.extend(byte.to_le_bytes()),
        Value::I16(number) => varint(zigzag(i64::from(*number)), out),
        Value::I32(number) => varint(zigzag(i64::from(*number)), out),
        Value::I64(number) => varint(zigzag(*number), out),
        Value::Real(number) => out.extend(number.to_le_bytes()),
        Value::Bytes(bytes) => {
            varint(bytes.len() as u64, out);
            out.extend(bytes);
        }
        Value::List(values) => encode_list(values, out),
        Value::Struct(fields) => encode_struct(fields, out),
    }
}

fn encode_list(values: &[Value], out: &mut Vec<u8>) {
    let kind = values.first().map_or(12, Value::kind);
    match u8::try_from(values.len()) {
        Ok(size @ 0..15) => out.push(size << 4 | kind),
        _ => {
            out.push(0xf0 | kind);
            varint(values.len() as u64, out);
        }
    }
    values.iter().for_each(|value| encode(value, out));
}

fn encode_struct(fields: &[(i16, Value)], out: &mut Vec<u8>) {
    let mut last = 0;
    for (id, value) in fields {
        match u8::try_from(id - last) {
            Ok(delta @ 1..16) => out.push(delta << 4 | value.kind()),
            _ => {
                out.push(value.kind());
                varint(zigzag(i64::from(*id)), out);
            }
        }
        last = *id;
        // A flag lies in the kind of its field.
        if !matches!(value, Value::Flag(_)) {
            encode(value, out);
        }
    }
    out.push(0);
}

fn zigzag(number: i64) -> u64 {
    ((number << 1) ^ (number >> 63)) as u64
}

fn unzigzag(number: u64) -> i64 {
    (number >> 1) as i64 ^ -((number & 1) as i64)
}

fn varint(mut number: u64, out: &mut Vec<u8>) {
    while number >= 0x80 {
        out.push(number as u8 | 0x80);
        number >>= 7;
    }
    out.push(number as u8);
}

/// Structs and lists within each other; Parquet needs 6.
const DEEPEST: u32 = 24;

/// Reads a struct; gives it with the number of bytes it takes. `None` when the bytes are none.
pub fn decode(bytes: &[u8]) -> Option<(Value, usize)> {
    let mut source = Source { bytes, at: 0 };
    let value = source.value(12, DEEPEST)?;
    Some((value, source.at))
}

struct Source<'b> {
    bytes: &'b [u8],
    at: usize,
}

impl Source<'_> {
    fn take(&mut self, count: usize) -> Option<&[u8]> {
        let end = self.at.checked_add(count)?;
        let taken = self.bytes.get(self.at..end)?;
        self.at = end;
        Some(taken)
    }

    fn byte(&mut self) -> Option<u8> {
        self.take(1).map(|bytes| bytes[0])
    }

    fn varint(&mut self) -> Option<u64> {
        let mut number = 0;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            number |= u64::from(byte & 0x7f) << shift;
            if byte < 0x80 {
                return Some(number);
            }
        }
        None
    }

    fn signed(&mut self) -> Option<i64> {
        self.varint().map(unzigzag)
    }

    fn value(&mut self, kind: u8, depth: u32) -> Option<Value> {
        Some(match kind {
            1 | 2 => Value::Flag(self.byte()? == 1),
            3 => Value::Byte(self.byte()? as i8),
            4 => Value::I16(self.signed()?.try_into().ok()?),
            5 => Value::I32(self.signed()?.try_into().ok()?),
            6 => Value::I64(self.signed()?),
            7 => Value::Real(f64::from_le_bytes(self.take(8)?.try_into().ok()?)),
            8 => {
                let size = self.varint()?.try_into().ok()?;
                Value::Bytes(self.take(size)?.to_vec())
            }
            9 | 10 => Value::List(self.list(depth.checked_sub(1)?)?),
            12 => Value::Struct(self.fields(depth.checked_sub(1)?)?),
            _ => return None,
        })
    }

    fn list(&mut self, depth: u32) -> Option<Vec<Value>> {
        let head = self.byte()?;
        let size = match head >> 4 {
            15 => self.varint()?,
            short => u64::from(short),
        };
        // Every value takes a byte or more, so a false size ends here and not in the memory.
        if size > (self.bytes.len() - self.at) as u64 {
            return None;
        }
        (0..size).map(|_| self.value(head & 15, depth)).collect()
    }

    fn fields(&mut self, depth: u32) -> Option<Vec<(i16, Value)>> {
        let mut fields = Vec::new();
        let mut id: i16 = 0;
        loop {
            let head = self.byte()?;
            if head == 0 {
                return Some(fields);
            }
            id = match head >> 4 {
                0 => self.signed()?.try_into().ok()?,
                delta => id.checked_add(i16::from(delta))?,
            };
            let value = match head & 15 {
                1 => Value::Flag(true),
                2 => Value::Flag(false),
                kind => self.value(kind, depth)?,
            };
            fields.push((id, value));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Value, decode, encode};
    use proptest::prelude::*;

    #[test]
    fn bytes_as_the_specification_has_them() {
        // Field 1 i32 = 1 (zigzag 2), field 2 list of two texts, field 20 true: by hand from the specification.
        let value = Value::Struct(vec![
            (1, Value::I32(1)),
            (2, Value::List(vec![Value::text("a"), Value::text("bc")])),
            (20, Value::Flag(true)),
        ]);
        let mut bytes = Vec::new();
        encode(&value, &mut bytes);
        let expected = [0x15, 0x02, 0x19, 0x28, 1, b'a', 2, b'b', b'c', 0x01, 40, 0];
        assert_eq!(bytes, expected);
        assert_eq!(decode(&bytes), Some((value, bytes.len())));
    }

    #[test]
    fn long_lists_and_large_numbers_go_round() {
        let list = Value::List((0..40).map(|i| Value::I64(i64::MIN + i)).collect());
        let value = Value::Struct(vec![
            (-3, list),
            (4, Value::I16(-1)),
            (30, Value::Real(0.1)),
            (31, Value::Byte(-7)),
        ]);
        let mut bytes = Vec::new();
        encode(&value, &mut bytes);
        assert_eq!(decode(&bytes), Some((value, bytes.len())));
        assert!((0..bytes.len()).all(|cut| decode(&bytes[..cut]).is_none()));
    }

    proptest! {
        #[test]
        fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            decode(&bytes);
        }
    }
}
