//! Plain values ↔ bytes, small and bounded: whole numbers as base-128, decimals as 32-bit, texts and lists with their length
//! before them. Reading never trusts a length: it is checked against a cap and against the bytes that are left, so memory
//! follows what was really sent.
use crate::people::Date;

/// Longest text, bytes.
pub const TEXT: usize = 2000;
/// Most items of one list.
pub const ITEMS: usize = 200;

/// Bytes being read.
pub struct Reader<'a>(pub &'a [u8]);

impl<'a> Reader<'a> {
    /// The next `count` bytes.
    pub fn bytes(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }
}

/// What can be written and read back.
pub trait Wire: Sized {
    /// Appends itself.
    fn put(&self, to: &mut Vec<u8>);
    /// Reads one; `None` where the bytes are none.
    fn take(from: &mut Reader) -> Option<Self>;
}

impl Wire for u8 {
    fn put(&self, to: &mut Vec<u8>) {
        to.push(*self);
    }
    fn take(from: &mut Reader) -> Option<Self> {
        from.bytes(1)?.first().copied()
    }
}

impl Wire for bool {
    fn put(&self, to: &mut Vec<u8>) {
        to.push(u8::from(*self));
    }
    fn take(from: &mut Reader) -> Option<Self> {
        match u8::take(from)? {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        }
    }
}

impl Wire for u32 {
    fn put(&self, to: &mut Vec<u8>) {
        let mut rest = *self;
        while rest >= 0x80 {
            to.push((rest & 0x7f) as u8 | 0x80);
            rest >>= 7;
        }
        to.push(rest as u8);
    }
    fn take(from: &mut Reader) -> Option<Self> {
        let mut value = 0_u64;
        for shift in (0..35).step_by(7) {
            let byte = u8::take(from)?;
            value |= u64::from(byte & 0x7f) << shift;
            if byte < 0x80 {
                return Self::try_from(value).ok();
            }
        }
        None
    }
}

impl Wire for f64 {
    // 32 bits carry seven digits, more than any figure's uncertainty supports.
    fn put(&self, to: &mut Vec<u8>) {
        to.extend_from_slice(&(*self as f32).to_le_bytes());
    }
    fn take(from: &mut Reader) -> Option<Self> {
        let bytes: [u8; 4] = from.bytes(4)?.try_into().ok()?;
        Some(Self::from(f32::from_le_bytes(bytes)))
    }
}

impl Wire for Date {
    fn put(&self, to: &mut Vec<u8>) {
        // Zigzag, so that days before 1970 stay short too.
        (((self.0 << 1) ^ (self.0 >> 31)) as u32).put(to);
    }
    fn take(from: &mut Reader) -> Option<Self> {
        let raw = u32::take(from)?;
        let day = (raw >> 1) as i32 ^ -((raw & 1) as i32);
        // The years 1800 to 2300: anything else is no day of an athlete.
        (-62_091..=120_894).contains(&day).then_some(Self(day))
    }
}

impl Wire for String {
    fn put(&self, to: &mut Vec<u8>) {
        let mut end = self.len().min(TEXT);
        while !self.is_char_boundary(end) {
            end -= 1;
        }
        let text = self.get(..end).unwrap_or_default();
        (text.len() as u32).put(to);
        to.extend_from_slice(text.as_bytes());
    }
    fn take(from: &mut Reader) -> Option<Self> {
        let length = u32::take(from)? as usize;
        if length > TEXT {
            return None;
        }
        core::str::from_utf8(from.bytes(length)?).ok().map(str::to_owned)
    }
}

impl<T: Wire> Wire for Vec<T> {
    fn put(&self, to: &mut Vec<u8>) {
        (self.len().min(ITEMS) as u32).put(to);
        self.iter().take(ITEMS).for_each(|item| item.put(to));
    }
    fn take(from: &mut Reader) -> Option<Self> {
        let count = u32::take(from)? as usize;
        // Each item takes at least one byte.
        if count > ITEMS || count > from.0.len() {
            return None;
        }
        let mut items = Self::new();
        for _ in 0..count {
            items.push(T::take(from)?);
        }
        Some(items)
    }
}

impl<T: Wire> Wire for Option<T> {
    fn put(&self, to: &mut Vec<u8>) {
        self.is_some().put(to);
        if let Some(value) = self {
            value.put(to);
        }
    }
    fn take(from: &mut Reader) -> Option<Self> {
        Some(if bool::take(from)? { Some(T::take(from)?) } else { None })
    }
}

impl<A: Wire, B: Wire> Wire for (A, B) {
    fn put(&self, to: &mut Vec<u8>) {
        self.0.put(to);
        self.1.put(to);
    }
    fn take(from: &mut Reader) -> Option<Self> {
        Some((A::take(from)?, B::take(from)?))
    }
}

/// Writes a struct field by field, in the order named; that order is the format.
macro_rules! wire_struct {
    ($name:ty { $($field:ident),* $(,)? }) => {
        impl $crate::records::wire::Wire for $name {
            fn put(&self, to: &mut Vec<u8>) {
                $($crate::records::wire::Wire::put(&self.$field, to);)*
            }
            fn take(from: &mut $crate::records::wire::Reader) -> Option<Self> {
                Some(Self { $($field: $crate::records::wire::Wire::take(from)?),* })
            }
        }
    };
}

/// Writes a plain enum as its place in a list; places are never given anew.
macro_rules! wire_enum {
    ($name:ident [ $($variant:ident),* $(,)? ]) => {
        impl $crate::records::wire::Wire for $name {
            fn put(&self, to: &mut Vec<u8>) {
                const ALL: &[$name] = &[$($name::$variant),*];
                let place = ALL.iter().position(|v| v == self).unwrap_or_default();
                to.push(place as u8);
            }
            fn take(from: &mut $crate::records::wire::Reader) -> Option<Self> {
                const ALL: &[$name] = &[$($name::$variant),*];
                ALL.get(usize::from(<u8 as $crate::records::wire::Wire>::take(from)?)).copied()
            }
        }
    };
}

pub(crate) use {wire_enum, wire_struct};
