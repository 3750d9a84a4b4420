//! Words that a plain file, a screen and a command share: one enum, one table of spellings. A screen says them in its own
//! language.

/// Why a word was refused: what would have done.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", say!("expected one of {expected}", expected))]
pub struct WordError {
    /// The words that would do.
    pub expected: String,
}

/// Makes an enum of words with `ALL`, `word()` and `parse()`, so that every spelling stands in one place.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
        pub enum $name { $($(#[$vdoc])* #[serde(rename = $word)] $variant),+ }

        impl $name {
            /// Every one, in the order people see them.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];

            /// The word in files and commands.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word),+ }
            }

            /// The word in the language spoken here.
            pub fn said(self) -> &'static str {
                $crate::words::find(self.word())
            }

            /// Reads the word, also as it is said here; case and outer blanks do not matter.
            ///
            /// # Errors
            /// [`WordError`](crate::domain::venue::WordError) with the words that would do.
            pub fn parse(text: &str) -> Result<$name, $crate::domain::venue::WordError> {
                let text = text.trim();
                let is = |w: &$name| w.word().eq_ignore_ascii_case(text) || w.said().to_lowercase() == text.to_lowercase();
                Self::ALL.iter().copied().find(is).ok_or_else(|| {
                    let all: Vec<&str> = Self::ALL.iter().map(|w| w.word()).collect();
                    $crate::domain::venue::WordError { expected: all.join(", ") }
                })
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.said())
            }
        }
    };
}
pub(crate) use words;

words! {
    /// What a tenth by eye is a tenth of, in a container whose shape is known.
    #[derive(Default)]
    TenthsOf {
        /// Of the height that the liquid of a sealed one has.
        #[default]
        Height = "height",
        /// Of what it holds: the eye allows for the shape.
        Volume = "volume",
    }
}

words! {
    /// What stock is taken to cost.
    #[derive(Default)]
    CostRule {
        /// The price last paid for one.
        #[default]
        LastPaid = "last-paid",
        /// The average of what was on the shelf four weeks ago and all that came since.
        Average = "average",
        /// First in, first out: what the oldest of what is on the shelf was bought for.
        Fifo = "fifo",
        /// The lowest price that it is offered at now.
        Offer = "offer",
    }
}

words! {
    /// What sort of thing an item is.
    Kind {
        /// Distilled, 15 % vol and up.
        Spirit = "spirit",
        /// Sweetened or bitter, with alcohol.
        Liqueur = "liqueur",
        /// Still, sparkling and fortified.
        Wine = "wine",
        /// Beer and cider.
        Beer = "beer",
        /// Sodas, tonics, water.
        Mixer = "mixer",
        /// Pressed or bought.
        Juice = "juice",
        /// Made here in batches from other items.
        HouseMade = "house-made",
        /// Anything eaten.
        Food = "food",
        /// The rest.
        Other = "other",
    }
}

words! {
    /// How an opened container of the item is read.
    CountBy {
        /// By eye, in tenths.
        Tenths = "tenths",
        /// On a scale.
        Weight = "weight",
        /// By the height of the liquid.
        Height = "height",
        /// Only whole containers are counted.
        Whole = "whole",
    }
}

words! {
    /// What a person may do.
    Role {
        /// Counts and records.
        Counter = "counter",
        /// Everything.
        Manager = "manager",
    }
}

words! {
    /// What a person may see.
    Rights {
        /// Everything.
        Everything = "everything",
        /// No costs, no prices, no worth.
        NoCosts = "no costs",
        /// None of those, nor what should be on hand: a blind count is going on.
        NoStock = "no stock",
    }
}

impl Rights {
    /// Whether costs and prices are shown, and what is a manager's may be done.
    pub fn sees_costs(self) -> bool {
        self == Rights::Everything
    }

    /// Whether it is shown what should be on hand.
    pub fn sees_stock(self) -> bool {
        self != Rights::NoStock
    }
}

words! {
    /// How a drink is made.
    DrinkMethod {
        /// With ice, hard.
        Shake = "shake",
        /// With ice, gently.
        Stir = "stir",
        /// In the glass.
        Build = "build",
        /// From tin to tin.
        Throw = "throw",
        /// In a blender.
        Blend = "blend",
        /// Straight from the container.
        Pour = "pour",
    }
}

impl DrinkMethod {
    /// What a drink is when that was done to it: `stirred`.
    pub fn done(self) -> &'static str {
        match self {
            DrinkMethod::Shake => word!("shaken"),
            DrinkMethod::Stir => word!("stirred"),
            DrinkMethod::Build => word!("built"),
            DrinkMethod::Throw => word!("thrown"),
            DrinkMethod::Blend => word!("blended"),
            DrinkMethod::Pour => word!("poured"),
        }
    }
}

words! {
    /// Why stock went without being sold.
    Reason {
        /// Poured beside.
        Spill = "spill",
        /// Glass broke.
        Breakage = "breakage",
        /// Given to a guest.
        Comp = "comp",
        /// Drunk by the staff.
        Staff = "staff",
        /// Tasted or shown.
        Tasting = "tasting",
        /// Past its date or off.
        Spoiled = "spoiled",
        /// Came back and was made again.
        ReturnedDrink = "returned-drink",
    }
}

words! {
    /// What a till line was.
    SaleKind {
        /// Sold.
        Sale = "sale",
        /// Cancelled: a positive quantity was never made; a negative one takes an earlier sale line back.
        Void = "void",
        /// Money given back; the drink is gone all the same.
        Return = "return",
        /// Rung for nothing, for a guest.
        Comp = "comp",
        /// Rung for the staff.
        Staff = "staff",
        /// Till in training mode: never made.
        Training = "training",
    }
}

words! {
    /// Where an order stands.
    OrderState {
        /// Being put together.
        Draft = "draft",
        /// With the supplier.
        Sent = "sent",
        /// Booked in.
        Received = "received",
        /// Given up.
        Closed = "closed",
    }
}

words! {
    /// How a count line came about.
    CountMethod {
        /// Sealed containers counted, opened ones by eye.
        Tenths = "tenths",
        /// Opened ones weighed.
        Weight = "weight",
        /// Opened ones by the height of the liquid.
        Height = "height",
        /// Only whole containers.
        Whole = "whole",
        /// Confirmed as expected, without a look.
        Expected = "expected",
    }
}

impl CountMethod {
    /// Whose eye a line is of: that of who signed, and nobody's where it was left as expected.
    pub fn eye(self, by: Option<&str>) -> Option<&str> {
        by.filter(|_| self != CountMethod::Expected)
    }
}

words! {
    /// What somebody took to be the cause of a gap.
    CauseWord {
        /// A sealed container was not seen by a count.
        Overlooked = "overlooked",
        /// A sealed container was counted twice.
        Twice = "counted-twice",
        /// Booked, and did not come.
        NotCome = "did-not-come",
        /// Came, and was not booked.
        NotBooked = "not-booked",
        /// Whole containers went.
        Gone = "gone",
        /// Another one was poured or rung instead.
        Twin = "other-one",
        /// Pours are heavier than the specs say.
        Heavy = "heavy-pours",
        /// Pours are lighter than the specs say.
        Light = "light-pours",
        /// About the same goes every time.
        Steady = "steady-loss",
        /// A till name stands for another portion.
        Portion = "wrong-portion",
        /// A till name stands for another drink.
        OtherDrink = "wrong-drink",
        /// A till name had no meaning.
        Unmapped = "unmapped-name",
        /// It ran dry and was rung on.
        RanDry = "ran-dry",
        /// A count was left as expected.
        AsExpected = "left-as-expected",
        /// Something went that nobody wrote down.
        Unknown = "not-written-down",
        /// Nothing was the matter.
        Chance = "nothing-wrong",
    }
}

words! {
    /// How what a spec asks for is measured out.
    #[derive(Default)]
    PouredBy {
        /// With a jigger or another measure.
        #[default]
        Jigger = "jigger",
        /// Free, by counting or by eye.
        Free = "free",
        /// Nothing is measured out: whole containers and pieces are used.
        Whole = "whole",
    }
}

words! {
    /// Where the level that an order fills an item up to comes from.
    ParFrom {
        /// Somebody set it.
        Hand = "hand",
        /// It follows what is asked for.
        Demand = "demand",
    }
}

words! {
    /// The fourteen groups of Regulation (EU) 1169/2011, annex II. A name here is a reminder, never a clearance: local
    /// codes and the maker's own label decide.
    Allergen {
        /// Cereals containing gluten.
        Gluten = "gluten",
        /// Crustaceans.
        Crustaceans = "crustaceans",
        /// Eggs.
        Egg = "egg",
        /// Fish.
        Fish = "fish",
        /// Peanuts.
        Peanuts = "peanuts",
        /// Soybeans.
        Soy = "soy",
        /// Milk.
        Milk = "milk",
        /// Tree nuts.
        Nuts = "nuts",
        /// Celery.
        Celery = "celery",
        /// Mustard.
        Mustard = "mustard",
        /// Sesame.
        Sesame = "sesame",
        /// Sulphur dioxide and sulphites above 10 mg/kg or 10 mg/l.
        Sulphites = "sulphites",
        /// Lupin.
        Lupin = "lupin",
        /// Molluscs.
        Molluscs = "molluscs",
    }
}
