//! Streams of foreign files: what passed is counted, and what ends them is said in words.

use super::plain::legible;
use crate::system;
use std::io::{self, Read};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Bytes that passed, shared by all streams of one import.
#[derive(Clone, Debug, Default)]
pub struct Passage(Arc<AtomicU64>);

impl Passage {
    /// So many bytes passed.
    pub fn bytes(&self) -> u64 {
        self.0.load(Ordering::Relaxed)
    }

    fn add(&self, bytes: usize) {
        self.0.fetch_add(bytes as u64, Ordering::Relaxed);
    }
}

/// A stream whose bytes are counted.
pub(super) struct Counted<R> {
    inner: R,
    passage: Passage,
}

impl<R: Read> Counted<R> {
    pub(super) fn new(inner: R, passage: &Passage) -> Counted<R> {
        Counted { inner, passage: passage.clone() }
    }
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.inner.read(into)?;
        self.passage.add(read);
        Ok(read)
    }
}

/// A stream that may give so many bytes until it is filled up again: what must be read in one piece stays small.
pub(super) struct Capped<R> {
    inner: R,
    left: usize,
    words: &'static str,
}

impl<R: Read> Capped<R> {
    /// Ends with `words` when more is asked for than was allowed.
    pub(super) fn new(inner: R, left: usize, words: &'static str) -> Capped<R> {
        Capped { inner, left, words }
    }

    /// Allows so many bytes from here on.
    pub(super) fn allow(&mut self, left: usize) {
        self.left = left;
    }
}

impl<R: Read> Read for Capped<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.left == 0 {
            return Err(refused(self.words));
        }
        let most = into.len().min(self.left);
        let read = self.inner.read(&mut into[..most])?;
        self.left -= read;
        Ok(read)
    }
}

/// Why a stream ended before its end, in words for people.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
struct Refused(String);

/// An error of a stream that says why in words.
pub(super) fn refused(words: impl Into<String>) -> io::Error {
    io::Error::other(Refused(words.into()))
}

/// An error of a stream in words.
pub(super) fn said(error: &io::Error) -> String {
    match error.get_ref().and_then(|inner| inner.downcast_ref::<Refused>()) {
        Some(Refused(words)) => words.clone(),
        None => say!("it could not be read: {error}", error = legible(&system::words(error))),
    }
}

/// Text of a foreign file as it is shown in a message: made safe, in quotation marks, cut.
pub(super) fn quoted(text: &str) -> String {
    const LONGEST: usize = 60;
    // Only the beginning is looked at: a whole file may stand in one cell.
    let tame = legible(&text.trim_start().chars().take(4 * LONGEST).collect::<String>());
    let cut: String = tame.chars().take(LONGEST).collect();
    if cut.len() < tame.len() { format!("“{cut}…”") } else { format!("“{cut}”") }
}

/// Reads until `into` is full or the stream ends; gives how many bytes there were.
pub(super) fn fill(from: &mut impl Read, into: &mut [u8]) -> io::Result<usize> {
    let mut have = 0;
    while have < into.len() {
        match from.read(&mut into[have..]) {
            Ok(0) => break,
            Ok(read) => have += read,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(have)
}
