//! Shapes of containers and weighings as lines.

use super::Plain;
use super::cells::{Form, Line, PlainRow, or_empty};
use crate::domain::gauge::{Mass, Outline, ProfileError, Reading, WeighedAs};
use crate::domain::measure::{Basis, Quantity, decimal};
use crate::domain::venue::{Filling, Measures, Moment, Profile, ProfileId, Section, Shape, parse_millimetres};

/// A line of `profiles.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfileRow {
    /// Its name.
    pub profile: String,
    /// As measured; none for one that is only known by filling.
    pub measures: Option<Measures>,
}

fn plain_length(micrometres: i64) -> String {
    decimal::plain(micrometres, 3)
}

/// The columns that must all be there, or none of them.
const LENGTHS: [&str; 5] = ["body_diameter", "body_height", "shoulder_height", "neck_diameter", "neck_height"];

/// Where a wrong measure stands.
fn column_of(error: ProfileError) -> &'static str {
    match error {
        ProfileError::Neck => "neck_diameter",
        ProfileError::Base => "base",
        ProfileError::Fill => "fill_height",
        _ => "body_diameter",
    }
}

impl PlainRow for ProfileRow {
    const FILE: Plain = Plain::Profiles;

    fn read(line: &mut Line<'_>) -> Option<ProfileRow> {
        let name = line.with("profile", |text| match Shape::parse(text) {
            Ok(_) => Err(word!("this shape is in every book; expected another name").to_owned()),
            Err(_) if text.is_empty() => Err(word!("expected a text").to_owned()),
            Err(_) => super::checked(text).map_err(|e| e.to_string()),
        });
        let section = line.word_or("section", Section::parse, Section::Round);
        let (base, fill_height) = (line.maybe("base", parse_millimetres), line.maybe("fill_height", parse_millimetres));
        let lengths = LENGTHS.map(|column| line.maybe(column, parse_millimetres));
        let (name, section, base, fill_height) = (name?, section?, base?, fill_height?);
        let [body_diameter, body_height, shoulder_height, neck_diameter, neck_height] = lengths;
        let given = [body_diameter?, body_height?, shoulder_height?, neck_diameter?, neck_height?];
        let measures = Measures::complete(section, base, given, fill_height);
        let nothing = given == [None; 5] && base.is_none() && fill_height.is_none();
        if measures.is_none() && !nothing {
            let missing = LENGTHS.iter().zip(given).find(|(_, length)| length.is_none());
            let column = missing.map_or("body_diameter", |(column, _)| *column);
            line.wrong(
                column,
                word!(
                    "expected body, shoulder and neck, all of them, or nothing but the name for one found by filling"
                ),
            );
            return None;
        }
        let profile = Profile { id: ProfileId::default(), name, measures, fillings: Vec::new() };
        if measures.is_some()
            && let Err(error) = Outline::sound(&profile)
        {
            line.wrong(column_of(error), error.to_string());
            return None;
        }
        Some(ProfileRow { profile: profile.name, measures })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        let m = self.measures;
        vec![
            self.profile.clone(),
            or_empty(m, |m| m.section.word().to_owned()),
            or_empty(m, |m| plain_length(m.base)),
            or_empty(m, |m| plain_length(m.body_diameter)),
            or_empty(m, |m| plain_length(m.body_height)),
            or_empty(m, |m| plain_length(m.shoulder_height)),
            or_empty(m, |m| plain_length(m.neck_diameter)),
            or_empty(m, |m| plain_length(m.neck_height)),
            or_empty(m.and_then(|m| m.fill_height), plain_length),
        ]
    }
}

/// A line of `fillings.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FillingRow {
    /// Of which shape.
    pub profile: String,
    /// A height and what is in it.
    pub filling: Filling,
}

impl PlainRow for FillingRow {
    const FILE: Plain = Plain::Fillings;

    fn read(line: &mut Line<'_>) -> Option<FillingRow> {
        let small = line.form().small;
        let (profile, height) = (line.name("profile", Plain::Profiles), line.with("height", parse_millimetres));
        let volume = line.with("volume", |text| Quantity::parse_as(text, Basis::Volume, &small));
        Some(FillingRow { profile: profile?, filling: Filling { height: height?, volume: volume? } })
    }

    fn cells(&self, _: &Form) -> Vec<String> {
        let volume = Quantity { basis: Basis::Volume, amount: self.filling.volume };
        vec![self.profile.clone(), plain_length(self.filling.height), volume.to_string()]
    }
}

/// A line of `weighings.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeighingRow {
    /// When.
    pub at: Moment,
    /// What.
    pub item: String,
    /// In which state.
    pub state: WeighedAs,
    /// What the scale showed.
    pub weight: Mass,
    /// What the eye had read.
    pub seen: Option<Reading>,
    /// What tells the container from others.
    pub mark: Option<String>,
    /// Where.
    pub place: Option<String>,
    /// Who.
    pub by: Option<String>,
}

impl PlainRow for WeighingRow {
    const FILE: Plain = Plain::Weighings;

    fn read(line: &mut Line<'_>) -> Option<WeighingRow> {
        let (at, item) = (line.time("at"), line.name("item", Plain::Stock));
        let state = line.with("state", WeighedAs::parse);
        let weight = line.with("weight", |text| Mass::parse(text).map_err(|e| e.why));
        let seen = line.maybe("seen", |text| match Reading::parse(text) {
            Ok(seen @ Reading::Sight(_)) => Ok(seen),
            Ok(_) => Err(word!("expected what the eye had read, such as .4").to_owned()),
            Err(error) => Err(error.why.to_string()),
        });
        let (mark, place) = (line.maybe_text("mark"), line.maybe_name("place", Plain::Places));
        let by = line.maybe_name("by", Plain::People);
        let (state, seen) = (state?, seen?);
        match (state, seen) {
            (WeighedAs::Opened, None) => {
                line.wrong("seen", word!("expected what the eye had read of an opened one, such as .4"));
                return None;
            }
            (WeighedAs::Sealed | WeighedAs::Empty, Some(_)) => {
                line.wrong("seen", word!("expected nothing: only an opened one is read by eye"));
                return None;
            }
            _ => {}
        }
        Some(WeighingRow { at: at?, item: item?, state, weight: weight?, seen, mark: mark?, place: place?, by: by? })
    }

    fn cells(&self, form: &Form) -> Vec<String> {
        vec![
            form.time(self.at),
            self.item.clone(),
            self.state.word().to_owned(),
            self.weight.to_string(),
            or_empty(self.seen, |seen| seen.to_string()),
            self.mark.clone().unwrap_or_default(),
            self.place.clone().unwrap_or_default(),
            self.by.clone().unwrap_or_default(),
        ]
    }
}
