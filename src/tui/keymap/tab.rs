//! The screens that have a letter of their own.

use super::{Action, Scope};

/// A screen that has a letter of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Tab {
    /// What is due tonight.
    #[default]
    Tonight,
    /// The walk along the shelves.
    Count,
    /// Used against sold.
    Variance,
    /// What to buy, from whom.
    Orders,
    /// Checking a delivery in.
    Receive,
    /// Broken, spilt, given away.
    Losses,
    /// On hand.
    Stock,
    /// The level to fill up to, and how long the stock lasts.
    Par,
    /// What a serve takes, costs, contains.
    Drinks,
    /// Recipes and batches.
    House,
    /// What the till's names mean, and its files.
    Till,
    /// What is known of containers and eyes.
    Gauging,
    /// Whom to order from.
    Suppliers,
    /// What was done to the book, and who signs in it.
    Book,
}

impl Tab {
    /// Every screen, in the order of the top line.
    pub const ALL: &'static [Tab] = &[
        Tab::Tonight,
        Tab::Count,
        Tab::Variance,
        Tab::Orders,
        Tab::Receive,
        Tab::Losses,
        Tab::Stock,
        Tab::Par,
        Tab::Drinks,
        Tab::House,
        Tab::Till,
        Tab::Gauging,
        Tab::Suppliers,
        Tab::Book,
    ];

    /// Its name in the top line.
    pub fn title(self) -> &'static str {
        match self {
            Tab::Tonight => word!("Tonight"),
            Tab::Count => word!("Count"),
            Tab::Variance => word!("Variance"),
            Tab::Orders => word!("Orders"),
            Tab::Receive => word!("Receive"),
            Tab::Losses => word!("Losses"),
            Tab::Stock => word!("Stock"),
            Tab::Par => word!("Par levels"),
            Tab::Drinks => word!("Drinks"),
            Tab::House => word!("House-made"),
            Tab::Till => word!("Till"),
            Tab::Gauging => word!("Gauging"),
            Tab::Suppliers => word!("Suppliers"),
            Tab::Book => word!("Book"),
        }
    }

    /// The capital that goes there: the one within its title.
    pub fn letter(self) -> char {
        match self {
            Tab::Tonight => 'T',
            Tab::Count => 'C',
            Tab::Variance => 'V',
            Tab::Orders => 'O',
            Tab::Receive => 'R',
            Tab::Losses => 'L',
            Tab::Stock => 'S',
            Tab::Par => 'E',
            Tab::Drinks => 'D',
            Tab::House => 'H',
            Tab::Till => 'I',
            Tab::Gauging => 'U',
            Tab::Suppliers => 'P',
            Tab::Book => 'B',
        }
    }

    /// The keys that are live on it as long as nothing is open there; none where that depends on what is there.
    pub fn scope(self) -> Option<Scope> {
        match self {
            Tab::Tonight => Some(Scope::Tonight),
            Tab::Variance => Some(Scope::Variance),
            Tab::Orders => Some(Scope::Orders),
            Tab::Losses => Some(Scope::Losses),
            Tab::Stock => Some(Scope::Stock),
            Tab::Par => Some(Scope::Par),
            Tab::Drinks => Some(Scope::Drinks),
            Tab::House => Some(Scope::House),
            Tab::Till => Some(Scope::Till),
            Tab::Gauging => Some(Scope::Gauging),
            Tab::Suppliers => Some(Scope::Suppliers),
            Tab::Book => Some(Scope::Book),
            Tab::Count | Tab::Receive => None,
        }
    }

    /// Whether all of it is a manager's, where there is one: it tells costs and prices, or changes the set-up.
    pub fn is_a_managers(self) -> bool {
        match self {
            Tab::Tonight
            | Tab::Count
            | Tab::Receive
            | Tab::Losses
            | Tab::Stock
            | Tab::Drinks
            | Tab::House
            | Tab::Gauging => false,
            Tab::Variance | Tab::Orders | Tab::Par | Tab::Till | Tab::Suppliers | Tab::Book => true,
        }
    }

    /// The screen that an action goes to, seen from this one; none if the action goes nowhere.
    pub fn after(self, action: Action) -> Option<Tab> {
        let here = Tab::ALL.iter().position(|&tab| tab == self).unwrap_or(0);
        let all = Tab::ALL.len();
        match action {
            Action::GoTonight => Some(Tab::Tonight),
            Action::GoCount => Some(Tab::Count),
            Action::GoVariance => Some(Tab::Variance),
            Action::GoOrders => Some(Tab::Orders),
            Action::GoReceive => Some(Tab::Receive),
            Action::GoLosses => Some(Tab::Losses),
            Action::GoStock => Some(Tab::Stock),
            Action::GoPar => Some(Tab::Par),
            Action::GoDrinks => Some(Tab::Drinks),
            Action::GoHouse => Some(Tab::House),
            Action::GoTill => Some(Tab::Till),
            Action::GoGauging => Some(Tab::Gauging),
            Action::GoSuppliers => Some(Tab::Suppliers),
            Action::GoBook => Some(Tab::Book),
            Action::NextScreen => Tab::ALL.get((here + 1) % all).copied(),
            Action::PreviousScreen => Tab::ALL.get((here + all - 1) % all).copied(),
            _ => None,
        }
    }
}
