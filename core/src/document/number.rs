//! Variable-length numbers (LEB128), written and read in their shortest form only.

/// Bytes still to be read.
#[derive(Clone, Copy)]
pub(super) struct Reader<'a> {
    rest: &'a [u8],
}

impl<'a> Reader<'a> {
    pub(super) const fn new(bytes: &'a [u8]) -> Self {
        Self { rest: bytes }
    }

    pub(super) const fn rest(&self) -> &'a [u8] {
        self.rest
    }

    /// The next `count` bytes, or none if there are fewer.
    pub(super) fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.rest.split_at_checked(count)?;
        self.rest = rest;
        Some(taken)
    }

    pub(super) fn byte(&mut self) -> Option<u8> {
        let (&first, rest) = self.rest.split_first()?;
        self.rest = rest;
        Some(first)
    }

    /// An unsigned number; none if cut short, past 63 bits or longer than it need be.
    pub(super) fn unsigned(&mut self) -> Option<u64> {
        let mut value = 0u64;
        for place in 0..9 {
            let byte = self.byte()?;
            value |= u64::from(byte & 0x7f) << (7 * place);
            if byte & 0x80 == 0 {
                return (byte != 0 || place == 0).then_some(value);
            }
        }
        None
    }

    /// As [`Reader::unsigned`], where a count of bytes in memory is meant: at most 32 bits,
    /// so that every target gives the same answer.
    pub(super) fn size(&mut self) -> Option<usize> {
        let size = u32::try_from(self.unsigned()?).ok()?;
        usize::try_from(size).ok()
    }

    /// A signed number of at most 14 bits, enough for every run of a legal change; none
    /// if cut short, larger or longer than it need be.
    pub(super) fn run(&mut self) -> Option<i16> {
        let low = self.byte()?;
        let sign = |byte: u8| if byte & 0x40 == 0 { 0i16 } else { -1 };
        let bits = |byte: u8| i16::from(byte & 0x7f);
        if low & 0x80 == 0 {
            return Some(bits(low) | sign(low) << 7);
        }
        let high = self.byte()?;
        let needless = bits(high) == sign(low) & 0x7f;
        (high & 0x80 == 0 && !needless).then(|| bits(low) | (bits(high) | sign(high) << 7) << 7)
    }
}

/// Appends an unsigned number.
pub(super) fn write_unsigned(mut value: u64, out: &mut Vec<u8>) {
    loop {
        let [low, ..] = value.to_le_bytes();
        value >>= 7;
        if value == 0 {
            return out.push(low & 0x7f);
        }
        out.push(low | 0x80);
    }
}

/// Appends a size in memory; no target has sizes past 64 bits.
pub(super) fn write_size(value: usize, out: &mut Vec<u8>) {
    write_unsigned(u64::try_from(value).unwrap_or(u64::MAX), out);
}

/// Appends a signed number.
pub(super) fn write_signed(mut value: i64, out: &mut Vec<u8>) {
    loop {
        let [low, ..] = value.to_le_bytes();
        value >>= 7;
        let sign_is_told = (low & 0x40 == 0 && value == 0) || (low & 0x40 != 0 && value == -1);
        if sign_is_told {
            return out.push(low & 0x7f);
        }
        out.push(low | 0x80);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn unsigned_numbers_return_as_written() {
        for value in [0, 1, 127, 128, 16_383, 16_384, u64::from(u32::MAX), (1 << 63) - 1] {
            let mut bytes = Vec::new();
            write_unsigned(value, &mut bytes);
            assert_eq!(Reader::new(&bytes).unsigned(), Some(value));
        }
    }

    #[test]
    fn every_run_length_returns_as_written() {
        for value in -8192i16..8192 {
            let mut bytes = Vec::new();
            write_signed(i64::from(value), &mut bytes);
            let mut reader = Reader::new(&bytes);
            assert_eq!(reader.run(), Some(value), "{bytes:?}");
            assert!(reader.rest().is_empty());
        }
    }

    #[test]
    fn only_the_shortest_form_is_read() {
        // every two-byte string that reads as a number must be what the writer writes
        for first in 0..=255u8 {
            for second in 0..=255u8 {
                let bytes = [first, second];
                let mut reader = Reader::new(&bytes);
                if let Some(value) = reader.run() {
                    let mut again = Vec::new();
                    write_signed(i64::from(value), &mut again);
                    assert_eq!(again, bytes[..2 - reader.rest().len()]);
                }
                let mut reader = Reader::new(&bytes);
                if let Some(value) = reader.unsigned() {
                    let mut again = Vec::new();
                    write_unsigned(value, &mut again);
                    assert_eq!(again, bytes[..2 - reader.rest().len()]);
                }
            }
        }
    }

    #[test]
    fn a_number_past_its_range_or_cut_short_is_none() {
        assert_eq!(Reader::new(&[0xff; 12]).unsigned(), None);
        assert_eq!(Reader::new(&[0x80]).unsigned(), None);
        assert_eq!(Reader::new(&[]).run(), None);
        assert_eq!(Reader::new(&[0x80, 0x80, 0x01]).run(), None);
    }
}
