//! Textbook crossovers for bare numbers: parts with reference names, polarity, the sum.

use crate::circuit::branch::Namer;
use crate::circuit::ladder::{self, Element, LadderError, Meeting, Pass};
use crate::circuit::slope::Slope;

/// An element with its reference name.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// Reference name ("L1").
    pub reference: String,
    /// The element.
    pub element: Element,
}

/// Both sections of a slope, named, and how they meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Textbook {
    /// From the amplifier to the woofer.
    pub low_pass: Vec<Named>,
    /// From the amplifier to the tweeter.
    pub high_pass: Vec<Named>,
    /// Levels at the crossover frequency.
    pub meeting: Meeting,
}

impl Textbook {
    /// Sections of `slope` at `at_hz` (Hz) for resistive loads (Ω). References count L1 C1 L2 …
    /// through the low-pass and on through the high-pass.
    ///
    /// # Errors
    /// A frequency or load that is not positive and finite.
    pub fn new(
        slope: Slope,
        at_hz: f64,
        woofer_ohm: f64,
        tweeter_ohm: f64,
    ) -> Result<Self, LadderError> {
        let mut namer = Namer::default();
        let mut name = |elements: Vec<Element>| -> Vec<Named> {
            let named =
                |element: Element| Named { reference: namer.next(&element.component), element };
            elements.into_iter().map(named).collect()
        };
        let low_pass = name(ladder::section(slope, Pass::Low, at_hz, woofer_ohm)?);
        let high_pass = name(ladder::section(slope, Pass::High, at_hz, tweeter_ohm)?);
        Ok(Self { low_pass, high_pass, meeting: Meeting::of(slope) })
    }
}
