//! The bytes of a file, piece by piece.

use crate::exchange::stream::refused;
use std::io::{self, BufRead, BufReader, Read};

/// Bytes that a text, a comment or the like may have.
pub(super) const PIECE: usize = 1 << 20;

/// Gives no more bytes for one piece than are allowed, and counts lines.
pub(super) struct Pieces {
    inner: BufReader<Box<dyn Read + Send>>,
    left: usize,
    /// Lines that were passed.
    pub(super) lines: u64,
}

impl Pieces {
    pub(super) fn new(stream: Box<dyn Read + Send>) -> Pieces {
        Pieces { inner: BufReader::with_capacity(1 << 16, stream), left: PIECE, lines: 0 }
    }

    /// Another piece begins.
    pub(super) fn begin(&mut self) {
        self.left = PIECE;
    }
}

impl Read for Pieces {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let available = self.fill_buf()?;
        let read = available.len().min(into.len());
        into[..read].copy_from_slice(&available[..read]);
        self.consume(read);
        Ok(read)
    }
}

impl BufRead for Pieces {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.left == 0 {
            return Err(refused(word!(
                "one piece of it, a text or a comment, is longer than a megabyte, as in no export"
            )));
        }
        let available = self.inner.fill_buf()?;
        Ok(&available[..available.len().min(self.left)])
    }

    fn consume(&mut self, bytes: usize) {
        let passed = &self.inner.buffer()[..bytes];
        self.lines += passed.iter().filter(|byte| **byte == b'\n').count() as u64;
        self.left = self.left.saturating_sub(bytes);
        self.inner.consume(bytes);
    }
}
