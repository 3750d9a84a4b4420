//! The write-ahead log: pages that are newer than those of the file itself.
//!
//! The WAL file format (from memory of its published description): a header of 32 bytes, then frames of 24 bytes and a
//! page each. A frame counts when its two salts are those of the header, its checksum goes on from that of the frame
//! before, and a frame that ends a transaction follows.

use std::collections::HashMap;

const HEADER: usize = 32;
const FRAME: usize = 24;
/// The first four bytes; the last bit says whether the checksums are made of words with the highest byte first.
const MAGIC: u32 = 0x377f_0682;

/// What a log holds that was committed.
#[derive(Debug, Default)]
pub(super) struct Log {
    /// Where in the log the newest version of a page begins.
    pub(super) pages: HashMap<u32, usize>,
    /// How many pages the book has after the last transaction.
    pub(super) count: Option<u32>,
    /// Frames of this log that do not check out.
    pub(super) broken: u32,
}

pub(super) fn be32(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(*bytes.get(at..)?.first_chunk::<4>()?))
}

/// The page size that a log says it has.
pub(super) fn page_size(log: &[u8]) -> Option<usize> {
    (be32(log, 0)? & !1 == MAGIC).then(|| be32(log, 8))?.and_then(|size| usize::try_from(size).ok())
}

/// What of a log counts. After a frame that is broken it goes on with the next: what was entered later counts as well.
pub(super) fn read(log: &[u8], page_size: usize) -> Log {
    if log.len() < HEADER + FRAME + page_size {
        return Log::default();
    }
    let magic = be32(log, 0).unwrap_or_default();
    let sound = |high: bool| {
        let stored = sums(log, 24);
        magic & !1 == MAGIC
            && self::page_size(log) == Some(page_size)
            && Some(checksum(high, (0, 0), &log[..24])) == stored
    };
    let high = magic & 1 == 1;
    if sound(high) {
        return frames(log, page_size, high, log.get(16..24), sums(log, 24));
    }
    // Without a header the salts are those of the first frame; only the checksums tell in which order bytes stand.
    let salts = log.get(HEADER + 8..HEADER + 16);
    let [mut low, mut high] = [false, true].map(|high| frames(log, page_size, high, salts, None));
    low.broken += 1;
    high.broken += 1;
    if high.broken < low.broken { high } else { low }
}

fn frames(log: &[u8], page_size: usize, high: bool, salts: Option<&[u8]>, first: Option<(u32, u32)>) -> Log {
    let mut out = Log::default();
    let mut running = first;
    let mut open: Vec<(u32, usize)> = Vec::new();
    // Frames of a transaction that was never ended may be anything.
    let mut broken = 0;
    let mut at = HEADER;
    while let Some(frame) = log.get(at..at + FRAME + page_size) {
        let stored = sums(frame, 16);
        if frame.get(8..16) == salts {
            let sum = running.map(|from| checksum(high, checksum(high, from, &frame[..8]), &frame[FRAME..]));
            if sum.is_some() && sum == stored {
                open.push((be32(frame, 0).unwrap_or_default(), at + FRAME));
                // Ends a transaction.
                if let Some(count) = be32(frame, 4).filter(|count| *count > 0) {
                    out.pages.extend(open.drain(..));
                    out.count = Some(count);
                    out.broken += std::mem::take(&mut broken);
                }
            } else {
                broken += 1;
                if be32(frame, 4).is_some_and(|count| count > 0) {
                    out.broken += std::mem::take(&mut broken);
                }
            }
        }
        running = stored;
        at += FRAME + page_size;
    }
    out
}

fn sums(bytes: &[u8], at: usize) -> Option<(u32, u32)> {
    Some((be32(bytes, at)?, be32(bytes, at + 4)?))
}

fn checksum(high: bool, (mut a, mut b): (u32, u32), bytes: &[u8]) -> (u32, u32) {
    let word = |bytes: [u8; 4]| if high { u32::from_be_bytes(bytes) } else { u32::from_le_bytes(bytes) };
    for pair in bytes.chunks_exact(8) {
        let (Some(first), Some(second)) = (pair.first_chunk::<4>(), pair.last_chunk::<4>()) else { break };
        a = a.wrapping_add(word(*first)).wrapping_add(b);
        b = b.wrapping_add(word(*second)).wrapping_add(a);
    }
    (a, b)
}
