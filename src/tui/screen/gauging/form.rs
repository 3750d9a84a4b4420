//! The form that a container's shape is measured in.

use crate::domain::gauge::{Outline, ProfileError, Reading};
use crate::domain::measure::{Amount, Basis, Quantity, SmallMeasures, decimal};
use crate::domain::venue::{Filling, Item, Measures, Profile, ProfileId, Section, parse_millimetres};
use crate::tui::keymap::Action;
use crate::tui::widget::field::Field;

/// The fields, in the order in which one measures: from the table upwards.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    Name,
    Section,
    Body,
    BodyHeight,
    Shoulder,
    Neck,
    NeckHeight,
    Base,
    Fill,
    Fillings,
}

impl Part {
    pub(super) const ALL: [Part; 10] = [
        Part::Name,
        Part::Section,
        Part::Body,
        Part::BodyHeight,
        Part::Shoulder,
        Part::Neck,
        Part::NeckHeight,
        Part::Base,
        Part::Fill,
        Part::Fillings,
    ];

    pub(super) fn title(self) -> &'static str {
        match self {
            Part::Name => word!("Name"),
            Part::Section => word!("Body is"),
            Part::Body => word!("Body across"),
            Part::BodyHeight => word!("Body height"),
            Part::Shoulder => word!("Shoulder"),
            Part::Neck => word!("Neck across"),
            Part::NeckHeight => word!("Neck height"),
            Part::Base => word!("Bottom"),
            Part::Fill => word!("Full stands"),
            Part::Fillings => word!("By filling"),
        }
    }

    pub(super) fn hint(self) -> &'static str {
        match self {
            Part::Name => word!("What this shape is called; another item may have it too"),
            Part::Section => word!("r round or s square"),
            Part::Body => word!("Diameter of the body (or its side), in mm: 76.5"),
            Part::BodyHeight => word!("From the table to where the shoulder begins, mm"),
            Part::Shoulder => word!("From there to where the neck begins, mm"),
            Part::Neck => word!("Diameter of the neck, mm"),
            Part::NeckHeight => word!("Length of the neck, mm"),
            Part::Base => word!("How high above the table the liquid begins, mm; may stay empty"),
            Part::Fill => word!("How high above the table a sealed one stands, mm; may stay empty"),
            Part::Fillings => {
                word!("More exact, if you have a jug: 40mm 100ml, 95mm 250ml. Else leave it. Enter keeps the shape")
            }
        }
    }
}

/// The field that is to be mended.
fn part_of(error: ProfileError) -> Part {
    match error {
        ProfileError::Neck => Part::Neck,
        ProfileError::Base => Part::Base,
        ProfileError::Fill => Part::Fill,
        ProfileError::Fillings | ProfileError::Short { .. } => Part::Fillings,
        ProfileError::Length | ProfileError::Size { .. } | ProfileError::Nothing => Part::Body,
    }
}

/// Room for some dozens of heights.
const FILLINGS_LENGTH: usize = 1_000;

/// What came of an action.
pub(super) enum Done {
    NotYet,
    Dropped,
    Kept(Profile),
}

/// A shape being measured.
pub(super) struct ShapeForm {
    /// What one container of the item holds.
    size: Amount,
    pub(super) focus: usize,
    pub(super) fields: [Field; Part::ALL.len()],
    /// What is wrong with which field.
    pub(super) error: Option<(usize, String)>,
}

impl ShapeForm {
    /// A form for an item; with what is on file where it has a shape of its own.
    pub(super) fn new(item: &Item, own: Option<&Profile>) -> ShapeForm {
        let mut fields = Part::ALL.map(|part| Field::new(if part == Part::Fillings { FILLINGS_LENGTH } else { 40 }));
        let mut put = |part: Part, text: &str| fields[part as usize] = Field::with(FILLINGS_LENGTH, text);
        put(Part::Section, Section::Round.word());
        match own {
            None => put(Part::Name, &item.name),
            Some(own) => {
                put(Part::Name, &own.name);
                if let Some(m) = own.measures {
                    let mm = |um: i64| decimal::shown(um, 3);
                    put(Part::Section, m.section.word());
                    put(Part::Body, &mm(m.body_diameter));
                    put(Part::BodyHeight, &mm(m.body_height));
                    put(Part::Shoulder, &mm(m.shoulder_height));
                    put(Part::Neck, &mm(m.neck_diameter));
                    put(Part::NeckHeight, &mm(m.neck_height));
                    put(Part::Base, &mm(m.base));
                    put(Part::Fill, &m.fill_height.map(mm).unwrap_or_default());
                }
                let filling = |f: &Filling| {
                    let volume = Quantity { basis: Basis::Volume, amount: f.volume };
                    say!("{height}mm {volume}", height = decimal::shown(f.height, 3), volume)
                };
                put(Part::Fillings, &own.fillings.iter().map(filling).collect::<Vec<_>>().join(", "));
            }
        }
        ShapeForm { size: item.size, focus: 0, fields, error: None }
    }

    pub(super) fn apply(&mut self, action: Action) -> Done {
        match action {
            Action::Cancel => return Done::Dropped,
            Action::Accept if self.focus + 1 < Part::ALL.len() => self.go(1),
            Action::Accept => return self.accept(),
            Action::NextField => self.go(1),
            Action::PreviousField => self.go(-1),
            _ => self.edit(action),
        }
        Done::NotYet
    }

    pub(super) fn paste(&mut self, text: &str) {
        self.error = None;
        if Part::ALL[self.focus] == Part::Section {
            text.trim().chars().take(1).for_each(|c| self.edit(Action::Type(c)));
            return;
        }
        self.fields[self.focus].paste(text);
    }

    fn edit(&mut self, action: Action) {
        self.error = None;
        let section = match action {
            Action::Type('r' | 'R') => Some(Section::Round),
            Action::Type('s' | 'S') => Some(Section::Square),
            _ => None,
        };
        if Part::ALL[self.focus] == Part::Section {
            // One of two words: its first letter chooses it.
            if let Some(section) = section {
                self.fields[self.focus] = Field::with(40, section.word());
            }
            return;
        }
        self.fields[self.focus].apply(action);
    }

    fn go(&mut self, by: isize) {
        let Some(to) = self.focus.checked_add_signed(by).filter(|to| *to < Part::ALL.len()) else { return };
        self.error = None;
        // Going back is always possible, going on from a field only when it can be read.
        if by > 0
            && let Err(wrong) = self.read(Part::ALL[self.focus])
        {
            self.error = Some((self.focus, wrong));
            return;
        }
        self.focus = to;
    }

    fn text(&self, part: Part) -> &str {
        self.fields[part as usize].text().trim()
    }

    /// A length in micrometres; nothing for an empty field.
    fn length(&self, part: Part) -> Result<Option<i64>, String> {
        let text = self.text(part).to_lowercase().replace(',', ".");
        if text.is_empty() { Ok(None) } else { parse_millimetres(&text).map(Some).map_err(|e| e.to_string()) }
    }

    fn fillings(&self) -> Result<Vec<Filling>, String> {
        let text = self.text(Part::Fillings);
        let pairs = text.split([',', ';']).map(str::trim).filter(|pair| !pair.is_empty());
        let expected = || word!("expected a height and a volume each: 40mm 100ml, 95mm 250ml").to_owned();
        let mut out = Vec::new();
        for pair in pairs {
            let (height, volume) = pair.split_once(char::is_whitespace).ok_or_else(expected)?;
            let volume = Quantity::parse_as(volume.trim(), Basis::Volume, &SmallMeasures::default());
            let (Ok(Reading::Height(height)), Ok(volume)) = (Reading::parse(height), volume) else {
                return Err(expected());
            };
            out.push(Filling { height, volume });
        }
        out.sort_by_key(|f| f.height);
        Ok(out)
    }

    fn read(&self, part: Part) -> Result<(), String> {
        match part {
            Part::Name if self.text(Part::Name).is_empty() => Err(word!("give it a name").to_owned()),
            Part::Name | Part::Section => Ok(()),
            Part::Fillings => self.fillings().map(|_| ()),
            length => self.length(length).map(|_| ()),
        }
    }

    /// The shape as far as it is filled in, and what container that is.
    fn profile(&self) -> Result<(Profile, Outline), (Part, String)> {
        let length = |part: Part| self.length(part).map_err(|wrong| (part, wrong));
        let needed = [Part::Body, Part::BodyHeight, Part::Shoulder, Part::Neck, Part::NeckHeight];
        let mut lengths = [None; 5];
        for (slot, part) in lengths.iter_mut().zip(needed) {
            *slot = length(part)?;
        }
        let fillings = self.fillings().map_err(|wrong| (Part::Fillings, wrong))?;
        let section = Section::parse(self.text(Part::Section)).unwrap_or(Section::Round);
        let measures = Measures::complete(section, length(Part::Base)?, lengths, length(Part::Fill)?);
        if measures.is_none() {
            if lengths != [None; 5] || fillings.is_empty() {
                let missing = needed.iter().zip(lengths).find(|(_, length)| length.is_none());
                let part = missing.map_or(Part::Body, |(part, _)| *part);
                return Err((part, word!("measure this too; or leave all five and say heights by filling").to_owned()));
            }
            let beside = [Part::Base, Part::Fill].into_iter().find(|part| !self.text(*part).is_empty());
            if let Some(part) = beside {
                return Err((part, word!("this goes with the five measures above; by filling, leave it").to_owned()));
            }
        }
        let name = self.text(Part::Name).to_owned();
        let profile = Profile { id: ProfileId::default(), name, measures, fillings };
        match Outline::fits(&profile, self.size) {
            Ok(outline) => Ok((profile, outline)),
            Err(wrong) => Err((part_of(wrong), wrong.to_string())),
        }
    }

    /// The outline of what is filled in, for the picture.
    pub(super) fn outline(&self) -> Option<Outline> {
        self.profile().ok().map(|(_, outline)| outline)
    }

    fn accept(&mut self) -> Done {
        let unread = |part: Part| self.read(part).err().map(|wrong| (part, wrong));
        let read = Part::ALL.into_iter().find_map(unread).map_or_else(|| self.profile(), Err);
        match read {
            Ok((profile, _)) => Done::Kept(profile),
            Err((part, wrong)) => {
                self.focus = part as usize;
                self.error = Some((part as usize, wrong));
                Done::NotYet
            }
        }
    }
}
