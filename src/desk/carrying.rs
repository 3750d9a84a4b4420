//! Carrying up before service: what to carry, booking it, taking that back.

use super::signing::{own, signed};
use super::situation::{Situation, situation};
use super::{DeskError, refused};
use crate::domain::ledger::Transfer;
use crate::domain::order::{Carry, carry_up};
use crate::domain::rows::CarryView;
use crate::domain::venue::{Containers, Deed, Moment, Seq};
use crate::store::{Connection, Store, journal};

/// What to carry from where to where, and what was carried on this business day.
///
/// # Errors
/// [`DeskError`].
pub fn view(store: &Store, now: Moment) -> Result<CarryView, DeskError> {
    store.read(|conn| {
        let situation = situation(conn, now, None)?;
        let list = carry_up(&situation.setup, &situation.standing);
        Ok(CarryView { list, carried: carried(conn, &situation)?, setup: situation.setup })
    })
}

fn carried(conn: &Connection, situation: &Situation) -> Result<Vec<Transfer>, DeskError> {
    let (rule, now) = (situation.setup.venue.days, situation.now);
    let begun = Moment(rule.begins(rule.day_of(now)).0 - 1);
    let mut out = journal::transfers(conn, begun, now)?;
    out.reverse();
    Ok(out)
}

/// Books what was carried: what each line says, or fewer. Says how many containers that were.
///
/// # Errors
/// [`DeskError`]: nothing is to be carried, or some of it not any more.
pub fn book(store: &Store, list: &[Carry], by: Option<&str>, now: Moment) -> Result<i64, DeskError> {
    store.write((Deed::Carried, now), |conn| {
        let situation = situation(conn, now, None)?;
        let setup = &situation.setup;
        // Somebody at another terminal may have booked it in the meantime.
        let wanted = carry_up(setup, &situation.standing);
        let day = setup.venue.days.day_of(now);
        let by = signed(conn, by)?;
        let mut carried = 0;
        for carry in list {
            let still = wanted.iter().find(|wanted| (wanted.item, wanted.to) == (carry.item, carry.to));
            for (from, containers) in carry.from.iter().filter(|(_, containers)| *containers > 0) {
                let most = still.and_then(|still| still.from.iter().find(|(place, _)| place == from));
                if most.is_none_or(|(_, most)| containers > most) {
                    let (name, place) = (setup.item_name(carry.item), setup.place_name(carry.to));
                    return Err(refused(say!("{name} need not be carried to {place} any more, or not so many: look at the list anew; nothing \
                         is booked", name, place)));
                }
                let (from, to, by) = (*from, carry.to, by.clone());
                let moved = Containers(containers.saturating_mul(1_000));
                let transfer = Transfer { seq: Seq(0), at: now, item: carry.item, containers: moved, from, to, by };
                journal::add_transfer(conn, &transfer, None, now, day)?;
                carried += containers;
            }
        }
        if carried == 0 {
            return Err(refused(word!("nothing is to be carried").to_owned()));
        }
        Ok(carried)
    })
}

/// Takes a transfer back: the row stays, a reversal beside it.
///
/// # Errors
/// [`DeskError`].
pub fn take_back(store: &Store, seq: Seq, by: Option<&str>, now: Moment) -> Result<(), DeskError> {
    store.write((Deed::CarriedBack, now), |conn| {
        own(conn, journal::signed_by(conn, seq)?.as_deref())?;
        let by = signed(conn, by)?;
        journal::reverse(conn, seq, by.as_deref(), now)?;
        Ok(())
    })
}
