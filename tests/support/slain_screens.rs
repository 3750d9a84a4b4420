//! Counts and orders on the real screens, killed while keys are typed.

#![allow(dead_code)]

use super::kept::{Kept, copied};
use super::pty::Session;
use super::slain::{NIGHT, Slain, said};
use super::walk;
use super::work::ITEMS;
use rand::Rng;
use std::time::Duration;

/// Lines of a sheet in which a walk begins anew on a fresh book.
const NEARLY_DONE: usize = 35;

impl Slain {
    /// A walk in which each entry is seen to be kept before the next is typed; killed while one more is.
    pub(crate) fn counting_slowly(&mut self) -> Result<(), String> {
        let (mut session, mut seen) = self.walking()?;
        for _ in 0..self.random.random_range(0..6) {
            let entry = format!("{}.{}\r", self.random.random_range(0..4), self.random.random_range(1..10));
            session.press(&entry);
            session.until("the next line", |screen| walk::done(&screen.contents()) > seen);
            seen = walk::done(&session.shown());
            // At the end of a place the walk waits.
            if seen == ITEMS {
                session.press("n");
            }
        }
        session.press(&format!("{}.{}\r", self.random.random_range(0..4), self.random.random_range(1..10)));
        std::thread::sleep(Duration::from_micros(self.random.random_range(0..25_000)));
        let (painted, there) = self.fell(&mut session)?;
        if there > seen + 1 {
            return Err(format!(
                "{there} entries are in the book; {seen} were seen to be kept before the last was typed"
            ));
        }
        self.end("screens: a count, entry by entry", false, painted > seen, there > seen);
        Ok(())
    }

    /// A walk in which keys come faster than pictures.
    pub(crate) fn counting_fast(&mut self) -> Result<(), String> {
        let (mut session, before) = self.walking()?;
        // At the end of a place the walk waits, and what is typed then is of a line that has an entry.
        let left = if before < ITEMS { ITEMS - before } else { usize::MAX };
        let entries = self.random.random_range(1..14).min(left);
        for _ in 0..entries {
            session.press(&format!("{}.{}\r", self.random.random_range(0..4), self.random.random_range(1..10)));
            std::thread::sleep(Duration::from_micros(self.random.random_range(0..6_000)));
        }
        let (painted, there) = self.fell(&mut session)?;
        if there > before + entries {
            return Err(format!("{there} entries are in the book; {before} and {entries} were typed"));
        }
        self.end("screens: a count, in bursts", false, painted == there, there > before);
        Ok(())
    }

    /// The screens with a count to go on with, and how many lines of it are done.
    fn walking(&mut self) -> Result<(Session, usize), String> {
        if !self.begun || walk::in_book(&self.walked)?.len() > NEARLY_DONE {
            said(copied(&self.fresh, &self.walked))?;
            self.begun = false;
        }
        let before = walk::in_book(&self.walked)?.len();
        let mut session = walk::start(&self.walked, NIGHT);
        walk::count(&mut session, self.begun.then_some(before));
        self.begun = true;
        Ok((session, before))
    }

    /// Kills the screens; how many entries were shown as kept, and how many the book has.
    fn fell(&mut self, session: &mut Session) -> Result<(usize, usize), String> {
        let screen = walk::killed(session);
        let kept = walk::in_book(&self.walked)?;
        walk::holds(&screen, session.typing_row(), &kept)?;
        self.entries += walk::marked(&screen, session.typing_row()).len() as u64;
        Ok((walk::done(&screen), kept.len()))
    }

    /// A delivery that is looked at on the screens, line by line; killed on the way.
    pub(crate) fn checking(&mut self) -> Result<(), String> {
        let (sent, book) = (self.folder.join("sent.tantalus"), self.folder.join("checked.tantalus"));
        if !sent.exists() {
            said(copied(&self.fresh, &sent))?;
            let mut session = walk::start(&sent, NIGHT);
            session.press_until("O", "as suggested, nothing changed");
            session.press_until("x", "marks it as sent");
            session.press_until("\r", "marked as sent");
            session.press("\x03");
            session.end();
        }
        said(copied(&sent, &book))?;
        let mut session = walk::start(&book, NIGHT);
        session.press_until("R", "lines looked at");
        let keys = self.random.random_range(1..8);
        for _ in 0..keys {
            session.press("y");
            std::thread::sleep(Duration::from_micros(self.random.random_range(0..20_000)));
        }
        let screen = walk::killed(&mut session);
        // `3 of 12 lines looked at`
        let said_of = screen.split(" lines looked at").next().and_then(|head| head.rsplit("  ").next());
        let painted: usize = said_of
            .and_then(|said| said.split_whitespace().next()?.parse().ok())
            .ok_or_else(|| format!("how many lines are looked at is not to be read:\n{screen}"))?;
        Kept::of(&book)?;
        let conn = said(rusqlite::Connection::open(&book))?;
        let there: u32 = said(conn.query_row("SELECT count(*) FROM delivery_check", [], |row| row.get(0)))?;
        let there = there as usize;
        if there < painted || there > keys {
            return Err(format!("{there} lines are in the book; {painted} were shown and {keys} keys pressed"));
        }
        self.entries += painted as u64;
        self.end("screens: a delivery, line by line", false, painted == there, there > 0);
        Ok(())
    }

    /// An order on the screens: changed, sent, killed somewhere on the way.
    pub(crate) fn ordering(&mut self) -> Result<(), String> {
        let book = self.folder.join("ordered.tantalus");
        let steps = [("O", "as suggested, nothing changed"), ("+", "draft kept as"), ("x\r", "marked as sent")];
        let states = match &self.ordered {
            Some(states) => states.clone(),
            None => {
                said(copied(&self.fresh, &book))?;
                let mut states = Vec::new();
                let mut session = walk::start(&book, NIGHT);
                for (keys, shown) in steps {
                    for key in keys.chars() {
                        session.press(&key.to_string());
                        std::thread::sleep(Duration::from_millis(300));
                    }
                    session.until_text(shown);
                    states.push(Kept::of(&book)?);
                }
                session.press("\x03");
                session.end();
                let states: [Kept; 3] = states.try_into().map_err(|_| "three states".to_owned())?;
                if states[0] == states[1] || states[1] == states[2] {
                    return Err("a draft or an order that is sent is not to be told from none".to_owned());
                }
                self.ordered.insert(states).clone()
            }
        };
        said(copied(&self.fresh, &book))?;
        let mut session = walk::start(&book, NIGHT);
        session.press_until(steps[0].0, steps[0].1);
        let last = self.random.random_range(1..3);
        for (keys, shown) in &steps[1..last] {
            session.press_until(keys, shown);
        }
        for key in steps[last].0.chars() {
            session.press(&key.to_string());
            std::thread::sleep(Duration::from_micros(self.random.random_range(0..60_000)));
        }
        let screen = walk::killed(&mut session);
        let at_least = (1..3).rev().find(|n| screen.contains(steps[*n].1)).unwrap_or(last - 1).max(last - 1);
        let now = Kept::of(&book)?;
        let is = states.iter().position(|state| *state == now);
        match is {
            Some(is) if is >= at_least && is <= last => {
                self.end("screens: an order", false, at_least == last, is == last);
                Ok(())
            }
            is => Err(format!(
                "the order is as after step {is:?}, and {at_least} was shown:{}",
                states[last].beside(&now)
            )),
        }
    }
}
