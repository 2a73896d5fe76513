//! What a design says of its production: `[run]` with `window`, `acceptance`, `spread`, `ageing`
//! and `class`.

use super::reader::{Bounds, Section};
use crate::design::{
    About, Acceptance, Ageing, PartScatter, Production, Run, Scatter, Shape, Spreads,
    ToleranceClass, Window,
};

const PERCENT: Bounds = Bounds::new(0.0, 50.0, "%");
const SHARE: Bounds = Bounds::new(0.0, 1.0, "");
const HZ: Bounds = Bounds::new(20.0, 20_000.0, "Hz");
const DB: Bounds = Bounds::positive(60.0, "dB");

/// The run and its production; a unit keeps `lowest_ohm` (Ω) where it is not said otherwise.
pub(super) fn run(section: Option<Section<'_>>, lowest_ohm: f64) -> (Run, Production) {
    let Some(mut section) = section else {
        return (Run { units: 1, spares_percent: 0.0, window: None }, Production::default());
    };
    let units = section.integer_or("units", 1..=1_000_000, 1);
    let spares_percent = section.number_or("spares_percent", Bounds::new(0.0, 100.0, "%"), 0.0);
    let window = section.optional_section("window").map(|mut s| window(&mut s));
    let acceptance =
        section.optional_section("acceptance").map(|mut s| acceptance(&mut s, lowest_ohm));
    let spreads =
        section.optional_section("spread").map_or_else(Spreads::default, |mut s| spreads(&mut s));
    let ageing =
        section.optional_section("ageing").map_or_else(Ageing::default, |mut s| ageing(&mut s));
    let classes = section.sections("class").iter_mut().map(class).collect();
    let run = Run { units, spares_percent, window };
    (run, Production { acceptance, spreads, ageing, classes })
}

fn window(section: &mut Section<'_>) -> Window {
    let window = Window {
        from_hz: section.number("from_hz", HZ),
        to_hz: section.number("to_hz", HZ),
        plus_db: section.number("plus_db", DB),
        minus_db: section.number("minus_db", DB),
    };
    if section.is_sound() && window.to_hz < 1.25 * window.from_hz {
        let help = "the window runs from low to high, a third of an octave or more";
        section.refuse("to_hz", "not enough above from_hz", help);
    }
    window
}

fn acceptance(section: &mut Section<'_>, lowest_ohm: f64) -> Acceptance {
    let about = [("flat", About::Flat), ("design", About::Design)];
    let about = section.choice_or("about", &about, About::Design);
    let hz = section.numbers("frequency_hz", HZ);
    let (plus, minus) = (section.numbers("plus_db", DB), section.numbers("minus_db", DB));
    let rising = hz.windows(2).all(|pair| pair[0] < pair[1]);
    let wide = hz.first().zip(hz.last()).is_some_and(|(low, high)| *high >= 1.25 * low);
    if section.is_sound() && !(rising && wide) {
        let help =
            "corners of the window from low to high, two or more: frequency_hz = [150, 12000]";
        section.refuse("frequency_hz", "no window: frequencies have to rise", help);
    }
    for (key, list) in [("plus_db", &plus), ("minus_db", &minus)] {
        if section.is_sound() && list.len() != hz.len() {
            let message = format!("{} values for {} frequencies", list.len(), hz.len());
            section.refuse(key, &message, "one value for each of frequency_hz");
        }
    }
    let corners = hz.iter().zip(&plus).zip(&minus);
    Acceptance {
        about,
        window: corners.map(|((hz, plus), minus)| (*hz, *plus, *minus)).collect(),
        level_db: section.optional_number("level_db", DB),
        pair_db: section.optional_number("pair_db", DB),
        lowest_ohm: section.number_or("lowest_ohm", Bounds::new(0.1, 100.0, "ohm"), lowest_ohm),
    }
}

fn spreads(section: &mut Section<'_>) -> Spreads {
    let usual = Spreads::default();
    let shapes = [("uniform", Shape::Uniform), ("normal", Shape::Normal)];
    let shape = section.choice_or("shape", &shapes, Shape::Uniform);
    let share = section.number_or("parts_lot_share", SHARE, usual.resistor.lot_share);
    let mut scatter = |key: &str, shape: &Shape, share: f64, usual: &Scatter| Scatter {
        shape: shape.clone(),
        limit_percent: section.number_or(key, PERCENT, usual.limit_percent),
        lot_share: share,
    };
    let resistor = scatter("resistor_percent", &shape, share, &usual.resistor);
    let inductor = scatter("inductor_percent", &shape, share, &usual.inductor);
    let capacitor = scatter("capacitor_percent", &shape, share, &usual.capacitor);
    let mut cavity = scatter("cavity_percent", &shape, 0.0, &usual.cavity);
    let mut fill = scatter("fill_percent", &shape, 0.0, &usual.fill);
    cavity.lot_share = section.number_or("cavity_lot_share", SHARE, usual.cavity.lot_share);
    fill.lot_share = section.number_or("fill_lot_share", SHARE, usual.fill.lot_share);
    let own = section.sections("part");
    let own = own.into_iter().map(|mut s| part(&mut s, &shape, share)).collect();
    Spreads {
        resistor,
        inductor,
        capacitor,
        own,
        matched_percent: section.optional_number("matched_percent", PERCENT),
        driver_lot_share: section.number_or("drivers_lot_share", SHARE, usual.driver_lot_share),
        cavity,
        fill,
        temperature_k: section.number_or(
            "temperature_k",
            Bounds::new(0.0, 40.0, "K"),
            usual.temperature_k,
        ),
    }
}

/// A part with a scatter of its own: a tolerance, or what was measured of a batch.
fn part(section: &mut Section<'_>, shape: &Shape, share: f64) -> PartScatter {
    let reference = section.text("ref");
    let mut measured = section.numbers("measured_percent", Bounds::symmetric(90.0, "%"));
    measured.sort_by(f64::total_cmp);
    let limit_percent = section.optional_number("percent", PERCENT);
    let lot_share = section.number_or("lot_share", SHARE, share);
    if measured.is_empty() == limit_percent.is_none() {
        let help = "give percent, or measured_percent = [...] as deviations from nominal";
        section.refuse("ref", "one of percent and measured_percent is needed", help);
    }
    if measured.len() == 1 {
        let help = "give as many as were measured, ten or more";
        section.refuse("measured_percent", "one value is no spread", help);
    }
    let shape = if measured.is_empty() { shape.clone() } else { Shape::Measured(measured.into()) };
    let scatter = Scatter { shape, limit_percent: limit_percent.unwrap_or(0.0), lot_share };
    PartScatter { reference, scatter }
}

fn ageing(section: &mut Section<'_>) -> Ageing {
    let usual = Ageing::default();
    let percent = Bounds::new(0.0, 90.0, "%");
    Ageing {
        capacitor_loss_percent: section.number_or(
            "capacitor_loss_percent",
            percent,
            usual.capacitor_loss_percent,
        ),
        esr_factor: section.number_or("esr_factor", Bounds::new(1.0, 20.0, ""), usual.esr_factor),
        capacitors: section.texts("capacitors"),
        fill_loss_percent: section.number_or("fill_loss_percent", percent, usual.fill_loss_percent),
        compliance_rise_percent: section.number_or(
            "compliance_rise_percent",
            percent,
            usual.compliance_rise_percent,
        ),
    }
}

fn class(section: &mut Section<'_>) -> ToleranceClass {
    let kinds = [("resistor", 'R'), ("inductor", 'L'), ("capacitor", 'C')];
    ToleranceClass {
        letter: section.choice("kind", &kinds),
        percent: section.number("percent", Bounds::positive(50.0, "%")),
        price: section.number("price", super::purchase_section::PRICE),
    }
}
