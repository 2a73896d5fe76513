//! Slopes of a crossover: family and order, written bw1 bw2 bw3 bw4 lr2 lr4.

use std::fmt;
use std::str::FromStr;

/// Families of crossover responses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Family {
    /// Maximally flat magnitude; −3.01 dB at the crossover frequency.
    Butterworth,
    /// A Butterworth response squared; −6.02 dB at the crossover frequency, even orders only.
    LinkwitzRiley,
}

/// A family and an order that go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Slope {
    family: Family,
    order: u8,
}

/// Why there is no such slope.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SlopeError {
    /// Linkwitz-Riley of an odd order.
    #[error(
        "there is no lr{order}: a Linkwitz-Riley response is a Butterworth response squared, so its order is even; the nearest are {nearest}"
    )]
    OddLinkwitzRiley {
        /// The order asked for.
        order: u32,
        /// What to use instead.
        nearest: &'static str,
    },
    /// An order outside the range that is built.
    #[error(
        "order {order} is not offered: Butterworth goes from bw1 to bw4, Linkwitz-Riley is lr2 or lr4"
    )]
    Order {
        /// The order asked for.
        order: u32,
    },
    /// Not the name of a slope.
    #[error("`{text}` is not a slope; write one of bw1 bw2 bw3 bw4 lr2 lr4")]
    Unknown {
        /// What was written.
        text: String,
    },
}

impl Slope {
    /// Every slope, by family and order.
    pub const ALL: [Self; 6] = [
        Self { family: Family::Butterworth, order: 1 },
        Self { family: Family::Butterworth, order: 2 },
        Self { family: Family::Butterworth, order: 3 },
        Self { family: Family::Butterworth, order: 4 },
        Self { family: Family::LinkwitzRiley, order: 2 },
        Self { family: Family::LinkwitzRiley, order: 4 },
    ];

    /// The slope of `family` and `order`.
    ///
    /// # Errors
    /// Orders outside 1-4, and Linkwitz-Riley of odd order.
    pub fn new(family: Family, order: u32) -> Result<Self, SlopeError> {
        if family == Family::LinkwitzRiley && order % 2 == 1 {
            let nearest = match order {
                1 => "bw1 and lr2",
                3 => "lr2, lr4 and bw3",
                _ => "lr4 and bw4",
            };
            return Err(SlopeError::OddLinkwitzRiley { order, nearest });
        }
        Self::ALL
            .into_iter()
            .find(|s| s.family == family && u32::from(s.order) == order)
            .ok_or(SlopeError::Order { order })
    }

    /// The family.
    pub fn family(self) -> Family {
        self.family
    }

    /// The order, 1 to 4.
    pub fn order(self) -> usize {
        usize::from(self.order)
    }
}

impl fmt::Display for Slope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let family = match self.family {
            Family::Butterworth => "bw",
            Family::LinkwitzRiley => "lr",
        };
        write!(f, "{family}{}", self.order)
    }
}

impl FromStr for Slope {
    type Err = SlopeError;

    fn from_str(text: &str) -> Result<Self, SlopeError> {
        let lower = text.trim().to_ascii_lowercase();
        let unknown = || SlopeError::Unknown { text: text.to_owned() };
        let (family, order) = if let Some(order) = lower.strip_prefix("bw") {
            (Family::Butterworth, order)
        } else if let Some(order) = lower.strip_prefix("lr") {
            (Family::LinkwitzRiley, order)
        } else {
            return Err(unknown());
        };
        Self::new(family, order.parse().map_err(|_| unknown())?)
    }
}
