//! Back and face of a bay as sheets that move.

use super::recent::Recent;
use crate::design::{Along, Cavity, Design, Panel, Rear, Side};
use crate::model::air::Air;
use crate::model::plate::edge::{Edges, Fixing};
use crate::model::sheet::{self, Layout, Ribs, Sheet, Walls};
use std::sync::Arc;

/// The sheets round the bay of `side`, those that the design lets move.
pub fn sheets(design: &Design, side: &Side) -> Walls<Option<Arc<Sheet>>> {
    let (bay, panel) = (side.bay(), &design.panel);
    let moves = design.models.sheets_move;
    Walls {
        back: moves.back.then(|| sheet(back(&bay, panel), design.air)),
        face: moves.face.then(|| sheet(face(&bay, panel), design.air)),
    }
}

static RECENT: Recent<(Layout, Air), Sheet> = Recent::new(16);

/// The sheet of `layout` in `air`: its modes are looked for once.
pub fn sheet(layout: Layout, air: Air) -> Arc<Sheet> {
    let given = (layout.clone(), air);
    RECENT.get(given, || Sheet::new(&layout, &air))
}

/// The back of a bay: held all round at the bay's outline, and at the ribs that are bonded to it, on
/// which it rests free to turn.
pub fn back(bay: &Cavity, panel: &Panel) -> Layout {
    let across = |along: Along, middle_m: f64, length_m: f64| {
        let ribs = bay.ribs.iter().filter(|r| r.along == along);
        let mut at: Vec<f64> = ribs.map(|r| r.at_m - middle_m + 0.5 * length_m).collect();
        at.sort_by(f64::total_cmp);
        at
    };
    let ribs = Ribs {
        at_x_m: across(Along::Height, bay.x_m, bay.width_m),
        at_y_m: across(Along::Width, bay.y_m, bay.height_m),
        fixing: Fixing::Supported,
    };
    let rear = match panel.rear {
        Rear::Room => sheet::Rear::Open,
        Rear::Closed { gap_m } => sheet::Rear::Gap { depth_m: gap_m },
    };
    let (section, edges) = (panel.back.section(), Edges::all(panel.back.edges));
    Layout { ribs, rear, section, edges, ..face(bay, panel) }
}

/// The face of a bay, held all round at the bay's outline, as if it had no cut-outs and bore no
/// drivers. Ribs are the back's.
pub fn face(bay: &Cavity, panel: &Panel) -> Layout {
    Layout {
        corner_m: [0.0; 2],
        sides_m: [bay.width_m, bay.height_m],
        section: panel.face.section(),
        edges: Edges::all(panel.face.edges),
        ribs: Ribs::none(),
        rear: sheet::Rear::Open,
        outside_mass: true,
    }
}
