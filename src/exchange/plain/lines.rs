//! Line ends of one kind, whatever a file has, so that lines are counted as an editor counts them.

use std::io::{self, Read};

/// Reads what another gives with each line end as one line feed: `\r\n` and a `\r` alone too.
#[derive(Debug)]
pub(super) struct OneEnd<R> {
    inner: R,
    /// The last byte was a carriage return, so a line feed that follows is the same line end.
    returned: bool,
    /// Bytes taken from the other.
    taken: u64,
    /// Bytes given, and the last two of them.
    given: u64,
    last: [u8; 2],
}

impl<R> OneEnd<R> {
    pub(super) fn new(inner: R) -> OneEnd<R> {
        OneEnd { inner, returned: false, taken: 0, given: 0, last: [0; 2] }
    }

    /// Bytes of the file that were read.
    pub(super) fn taken(&self) -> u64 {
        self.taken
    }

    /// Whether all that was given ends at so many bytes, and no line end with it. `inside` says that the last cell ends
    /// with a line end: without a quotation mark before it, the last one given stands in a cell that was never closed.
    pub(super) fn ends_open_at(&self, byte: u64, inside: bool) -> bool {
        let [before, last] = self.last;
        byte > 0 && byte == self.given && (last != b'\n' || (inside && before != b'"'))
    }
}

impl<R: Read> Read for OneEnd<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        loop {
            let read = self.inner.read(buffer)?;
            self.taken += read as u64;
            if read == 0 || buffer.is_empty() {
                return Ok(read);
            }
            let kept = self.join(&mut buffer[..read]);
            // Of a lone line feed behind a carriage return nothing is left, and nothing would mean the end.
            if kept > 0 {
                self.given += kept as u64;
                self.last = match buffer[..kept] {
                    [.., before, last] => [before, last],
                    [last] => [self.last[1], last],
                    [] => self.last,
                };
                return Ok(kept);
            }
        }
    }
}

impl<R> OneEnd<R> {
    /// Makes one line feed of each line end, in place; gives back how many bytes are left.
    fn join(&mut self, bytes: &mut [u8]) -> usize {
        // Most files have no carriage return at all.
        if !self.returned && !bytes.contains(&b'\r') {
            return bytes.len();
        }
        let mut kept = 0;
        for at in 0..bytes.len() {
            let byte = bytes[at];
            if byte == b'\n' && std::mem::take(&mut self.returned) {
                continue;
            }
            self.returned = byte == b'\r';
            bytes[kept] = if self.returned { b'\n' } else { byte };
            kept += 1;
        }
        kept
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Gives few bytes at a time.
    struct Sips<'a>(&'a [u8], usize);

    impl Read for Sips<'_> {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            let most = self.1.min(buffer.len());
            self.0.read(&mut buffer[..most])
        }
    }

    proptest! {
        #[test]
        fn every_line_end_becomes_one_line_feed(text in "[ab\r\n]{0,40}", sip in 1_usize..5) {
            let mut read = String::new();
            let mut lines = OneEnd::new(Sips(text.as_bytes(), sip));
            lines.read_to_string(&mut read).unwrap();
            let want = text.replace("\r\n", "\n").replace('\r', "\n");
            prop_assert_eq!(&read, &want);
            prop_assert_eq!(lines.taken(), text.len() as u64);
            prop_assert_eq!(lines.ends_open_at(want.len() as u64, false), !want.is_empty() && !want.ends_with('\n'));
        }
    }
}
