//! The invented bar, to try everything on.

use super::init::init_from;
use super::{DeskError, refused, unwatched};
use crate::domain::venue::{Deed, Moment};
use crate::exchange::{At, ExchangeError, demo};
use crate::store::{self, Store, setup};
use std::path::Path;

/// Opens the demo's book; makes it when there is none, or anew when `fresh`. Its dates are moved so that the evening to
/// count is the one at `now`.
///
/// # Errors
/// [`DeskError`]; a book that is not the demo's is never replaced.
pub fn open(path: &Path, fresh: bool, now: Moment) -> Result<Store, DeskError> {
    match Store::open(path) {
        Ok(there) => {
            let ours = there.read(|conn| Ok::<_, DeskError>(setup::is_demo(conn)?))?;
            if !ours {
                let path = path.display();
                return Err(refused(format!(
                    "{path} is a book of your own and not the demo's; name another file with --book, or none"
                )));
            }
            if !fresh {
                return Ok(there);
            }
            // Its copies go with it: they are of a book that nobody goes back to.
            let holds = there.read(store::copies::holds)?;
            there.discard()?;
            store::copies::discard(path, &holds)?;
        }
        Err(store::StoreError::Missing { .. }) => {}
        Err(other) => return Err(other.into()),
    }
    let folder = tempfile::tempdir().map_err(|source| ExchangeError::Io {
        doing: "making a folder for the demo's files in",
        path: std::env::temp_dir(),
        source,
    })?;
    demo::write(folder.path(), now)?;
    let (store, _) = init_from(path, folder.path(), now, &mut unwatched)?;
    store.write((Deed::Begun, now), |conn| Ok::<_, DeskError>(setup::mark_demo(conn)?))?;
    folder.close().at("taking away the demo's files in", path)?;
    Ok(store)
}
