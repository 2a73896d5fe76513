//! The two ways of a side.

/// Something for each of the two ways.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ways<T> {
    /// The woofer's.
    pub woofer: T,
    /// The tweeter's.
    pub tweeter: T,
}

/// Which of the two ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// The woofer's.
    Woofer,
    /// The tweeter's.
    Tweeter,
}

impl Way {
    /// Both.
    pub const BOTH: [Self; 2] = [Self::Woofer, Self::Tweeter];

    /// The word for its driver.
    pub fn word(self) -> &'static str {
        match self {
            Self::Woofer => "woofer",
            Self::Tweeter => "tweeter",
        }
    }
}

impl<T> Ways<T> {
    /// That of `way`.
    pub fn of(&self, way: Way) -> &T {
        match way {
            Way::Woofer => &self.woofer,
            Way::Tweeter => &self.tweeter,
        }
    }

    /// That of `way`, to be changed.
    pub fn of_mut(&mut self, way: Way) -> &mut T {
        match way {
            Way::Woofer => &mut self.woofer,
            Way::Tweeter => &mut self.tweeter,
        }
    }

    /// Applies `change` to both.
    pub fn map<'a, U>(&'a self, mut change: impl FnMut(&'a T) -> U) -> Ways<U> {
        Ways { woofer: change(&self.woofer), tweeter: change(&self.tweeter) }
    }
}
