//! The bytes of a book, as pages: the file with what is newer in its log. Nothing here is ever written to.

use super::log::{self, Log};
use crate::store::StoreError;
use crate::store::error::At;
use crate::store::open::beside;
use std::collections::HashSet;
use std::io::ErrorKind;
use std::path::Path;

/// The smallest and the largest size that a page may have.
const SIZES: [usize; 8] = [512, 1024, 2048, 4096, 8192, 16_384, 32_768, 65_536];

/// The pages of a book.
#[derive(Debug)]
pub(super) struct Image {
    file: Vec<u8>,
    log: Vec<u8>,
    newer: Log,
    /// Bytes of a page.
    pub(super) page_size: usize,
    /// Pages of the book.
    pub(super) count: u32,
    /// Pages that the file says it has, and has not.
    pub(super) missing: u32,
}

impl Image {
    /// Reads a book and its log.
    ///
    /// # Errors
    /// [`StoreError::Io`] when the file cannot be read.
    pub(super) fn read(path: &Path) -> Result<Image, StoreError> {
        let file = std::fs::read(path).at("reading", path)?;
        let beside = beside(path, "-wal");
        let log = match std::fs::read(&beside) {
            Ok(log) => log,
            Err(error) if error.kind() == ErrorKind::NotFound => Vec::new(),
            Err(error) => return Err(error).at("reading", &beside),
        };
        Ok(Image::new(file, log))
    }

    /// The pages of a file and its log.
    pub(super) fn new(mut file: Vec<u8>, log: Vec<u8>) -> Image {
        let page_size = size_of(&file, &log);
        let newer = log::read(&log, page_size);
        // The rows of a page stand at its end: of one that was cut short those that are there can be read.
        file.resize(file.len().next_multiple_of(page_size), 0);
        let held = u32::try_from(file.len() / page_size).unwrap_or(u32::MAX);
        let said = log::be32(&file, 28).filter(|_| file.get(24..28) == file.get(92..96)).unwrap_or(held);
        // A header that is damaged may say anything; a few pages more than there are can only be missing.
        let said = if said < u32::MAX / 2 { said } else { held };
        let count = newer.count.unwrap_or(held);
        // After a transaction in the log its own number of pages counts.
        let missing = if newer.count.is_none() { said.saturating_sub(held) } else { 0 };
        Image { file, log, newer, page_size, count, missing }
    }

    /// A page by its number, which begins at one.
    pub(super) fn page(&self, number: u32) -> Option<&[u8]> {
        if !(1..=self.count).contains(&number) {
            return None;
        }
        if let Some(at) = self.newer.pages.get(&number) {
            return self.log.get(*at..at + self.page_size);
        }
        let at = usize::try_from(number - 1).ok()?.checked_mul(self.page_size)?;
        self.file.get(at..at.checked_add(self.page_size)?)
    }

    /// Frames of the log that do not check out.
    pub(super) fn broken_frames(&self) -> u32 {
        self.newer.broken
    }

    /// The hundred bytes at the beginning.
    pub(super) fn header(&self) -> &[u8] {
        self.page(1).and_then(|page| page.get(..100)).unwrap_or(&[0; 100])
    }

    /// A number in the header, by its place there.
    pub(super) fn number(&self, at: usize) -> u32 {
        log::be32(self.header(), at).unwrap_or_default()
    }

    /// The whole of both, for how much there is to read.
    pub(super) fn bytes(&self) -> usize {
        self.file.len() + self.log.len()
    }

    /// Pages that nothing stands on, as far as their list can be followed.
    pub(super) fn free(&self) -> HashSet<u32> {
        let mut trunk = self.number(32);
        let mut seen = HashSet::new();
        while let Some(page) = self.page(trunk).filter(|_| seen.insert(trunk)) {
            let leaves = log::be32(page, 4).and_then(|n| usize::try_from(n).ok()).unwrap_or_default();
            // More do not stand on a page; one that says so is no part of the list.
            if leaves > self.page_size / 4 - 2 {
                seen.remove(&trunk);
                break;
            }
            seen.extend((0..leaves).filter_map(|n| log::be32(page, 8 + 4 * n)));
            trunk = log::be32(page, 0).unwrap_or_default();
        }
        seen
    }
}

/// How large pages are: as the header says, unless the pages themselves say something else.
fn size_of(file: &[u8], log: &[u8]) -> usize {
    let said = file.get(16..18).map(|b| usize::from(b[0]) << 8 | usize::from(b[1]));
    let said = said.map(|size| if size == 1 { 65_536 } else { size }).filter(|size| SIZES.contains(size));
    let said = said.or_else(|| log::page_size(log)).filter(|size| SIZES.contains(size));
    let share = |size: usize| {
        let (mut all, mut like) = (0_usize, 0_usize);
        for (n, page) in file.chunks_exact(size).take(4_096).enumerate() {
            let at = if n == 0 { 100 } else { 0 };
            // Zeros say nothing.
            if page.get(at..at + 8).is_some_and(|head| head != [0; 8]) {
                all += 1;
                like += usize::from(looks_like_a_node(page, at));
            }
        }
        (like as f64 / all.max(1) as f64, all)
    };
    let shares = SIZES.map(|size| (size, share(size)));
    // A few pages may look like anything.
    let telling = shares.iter().filter(|(size, (_, all))| *all >= 64 || *size == 4_096);
    let best = telling.map(|(_, (share, _))| *share).fold(0.0, f64::max);
    // A multiple of the true size looks as good as it does, a part of it half as good.
    let smallest_like = |than: f64| shares.iter().find(|(_, (share, _))| *share >= 0.9 * than).map(|(size, _)| *size);
    let of_said = said.and_then(|said| shares.iter().find(|(size, _)| *size == said));
    match of_said {
        Some((_, (share, _))) if *share > 0.0 && *share >= 0.6 * best => smallest_like(*share).unwrap_or(4_096),
        _ if best > 0.0 => smallest_like(best).unwrap_or(4_096),
        _ => said.unwrap_or(4_096),
    }
}

/// Whether bytes look like the head of a page of a tree.
fn looks_like_a_node(page: &[u8], at: usize) -> bool {
    let Some([kind, a, b, c, d, e, f, fragments]) = page.get(at..).and_then(|page| page.first_chunk::<8>()) else {
        return false;
    };
    let word = |high: &u8, low: &u8| usize::from(*high) << 8 | usize::from(*low);
    let (block, cells) = (word(a, b), word(c, d));
    let content = match word(e, f) {
        0 => 65_536,
        content => content,
    };
    let head = at + if matches!(kind, 2 | 5) { 12 } else { 8 };
    matches!(kind, 2 | 5 | 10 | 13)
        && block < page.len()
        && content <= page.len()
        && head + 2 * cells <= content
        && *fragments <= 60
}
