//! What lines stand for and how they therefore look.

/// What a line stands for; decides colour, dash and width, the same in all figures.
///
/// The colours differ in luminance as well as in hue, and neighbours differ in dash, so
/// the lines stay apart in grey print and for colour-blind readers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// The whole loudspeaker: all drivers together.
    Sum,
    /// The woofer and its branch.
    Woofer,
    /// The tweeter and its branch.
    Tweeter,
    /// The sum with one driver connected the other way round.
    Inverted,
    /// A bound that should not be passed.
    Limit,
    /// Something to compare with: a target, a crossover frequency.
    Reference,
    /// Member of an ordered family of curves, 0 to 7, from dark to light; larger numbers
    /// start again at 0.
    Order(u8),
    /// Background information.
    Quiet,
    /// A visible edge in a drawing.
    Edge,
    /// An edge behind something, in a drawing.
    Hidden,
    /// Where a section is cut, and axes, in a drawing.
    Cut,
}

/// Colour, dash in pixels, width in pixels.
type Pen = ((u8, u8, u8), &'static [u32], f64);

const ORDER: [Pen; 8] = [
    ((27, 42, 65), &[], 2.25),
    ((126, 30, 62), &[9, 3], 2.0),
    ((36, 98, 146), &[], 1.75),
    ((168, 74, 42), &[3, 2], 2.0),
    ((44, 136, 120), &[12, 3, 3, 3], 2.0),
    ((140, 122, 194), &[], 2.0),
    ((196, 150, 40), &[6, 3], 2.25),
    ((132, 180, 160), &[2, 2], 2.25),
];

impl Ink {
    fn pen(self) -> Pen {
        match self {
            Ink::Sum => ((22, 32, 52), &[], 2.5),
            Ink::Woofer => ((12, 98, 126), &[11, 3], 1.75),
            Ink::Tweeter => ((203, 130, 28), &[], 1.75),
            Ink::Inverted => ((158, 66, 140), &[4, 2], 1.5),
            Ink::Limit => ((176, 46, 36), &[10, 3, 2, 3], 1.5),
            Ink::Reference => ((98, 106, 118), &[2, 3], 1.25),
            Ink::Order(n) => ORDER[usize::from(n) % ORDER.len()],
            Ink::Quiet => ((166, 173, 183), &[], 1.25),
            Ink::Edge => ((40, 47, 60), &[], 1.5),
            Ink::Hidden => ((90, 100, 114), &[6, 3], 1.25),
            Ink::Cut => ((150, 62, 44), &[14, 3, 3, 3], 1.25),
        }
    }

    /// Colour as red, green and blue, 0 to 255. No two inks share one.
    pub fn colour(self) -> (u8, u8, u8) {
        self.pen().0
    }

    /// Lengths of stroke and gap in turn, in pixels; empty for an unbroken line.
    pub fn dash(self) -> &'static [u32] {
        self.pen().1
    }

    /// Opacity of an area in this colour.
    pub(super) fn tint(self) -> f64 {
        if self == Ink::Quiet { 0.35 } else { 0.16 }
    }

    /// Width of the line in pixels.
    pub fn width(self) -> f64 {
        self.pen().2
    }
}
