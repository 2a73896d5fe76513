//! How a panel stands in the room, how a driver is let into its face, and which effects are
//! computed.

use crate::model::place::Point;
use crate::model::sheet::Walls;

/// Which effects of the panel are computed in full. Each can be put back to its simpler form, to
/// see what it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Models {
    /// The cavity as a wave field, or as one lump of air.
    pub cavity_waves: bool,
    /// Whether back and face move or are rigid walls.
    pub sheets_move: Walls<bool>,
    /// The panel ends at its edges, or goes on for ever.
    pub panel_ends: bool,
}

impl Models {
    /// Everything computed.
    pub const FULL: Self = Self {
        cavity_waves: true,
        sheets_move: Walls { back: true, face: true },
        panel_ends: true,
    };
    /// A lump of air behind rigid walls in an endless panel.
    pub const SIMPLE: Self = Self {
        cavity_waves: false,
        sheets_move: Walls { back: false, face: false },
        panel_ends: false,
    };
}

/// What the back of the panel looks at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rear {
    /// The room: what the back sheet moves is heard.
    Room,
    /// A closed space of this depth between back and wall or furniture, m: nothing of it is heard,
    /// and its air is one more spring behind the sheet.
    Closed {
        /// Depth of that space, m.
        gap_m: f64,
    },
}

/// One large flat surface near the panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Where it is.
    pub place: SurfacePlace,
    /// From the middle of the face to the surface, m.
    pub distance_m: f64,
    /// Share of the sound's energy that it swallows, 0 to 1.
    pub absorption: f64,
}

/// On which side of the panel a surface is, as the room has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfacePlace {
    /// A wall behind.
    Behind,
    /// A table or floor under it.
    Below,
    /// A wall to the left, as the listener sees the face.
    Left,
    /// A wall to the right.
    Right,
}

impl Surface {
    /// Every place with the word for it in files and output.
    pub const PLACES: [(&'static str, SurfacePlace); 4] = [
        ("behind", SurfacePlace::Behind),
        ("below", SurfacePlace::Below),
        ("left", SurfacePlace::Left),
        ("right", SurfacePlace::Right),
    ];

    /// Pressure reflected over pressure arriving, 0 to 1: √(1 − absorption).
    pub fn reflection(&self) -> f64 {
        (1.0 - self.absorption).sqrt()
    }

    /// From the panel's origin square to the surface, of unit length, in panel coordinates, for a
    /// panel that leans back by `tilt_rad`.
    fn towards(&self, tilt_rad: f64) -> Point {
        let room = match self.place {
            SurfacePlace::Behind => Point::new(0.0, 0.0, -1.0),
            SurfacePlace::Below => Point::new(0.0, -1.0, 0.0),
            SurfacePlace::Left => Point::new(-1.0, 0.0, 0.0),
            SurfacePlace::Right => Point::new(1.0, 0.0, 0.0),
        };
        from_room(&room, tilt_rad)
    }

    /// How far `point` (panel coordinates) is from the surface, m; negative beyond it.
    pub fn height_m(&self, point: &Point, tilt_rad: f64) -> f64 {
        let n = self.towards(tilt_rad);
        self.distance_m - (n.x_m * point.x_m + n.y_m * point.y_m + n.z_m * point.z_m)
    }

    /// `point` (panel coordinates) seen in the surface as in a mirror.
    pub fn mirrored(&self, point: &Point, tilt_rad: f64) -> Point {
        let n = self.towards(tilt_rad);
        let step = 2.0 * self.height_m(point, tilt_rad);
        Point::new(point.x_m + step * n.x_m, point.y_m + step * n.y_m, point.z_m + step * n.z_m)
    }
}

/// A place in the room (x right, y up, z level towards the listener, from the middle of the face) in
/// the coordinates of a panel that leans back by `tilt_rad` (0 upright, π/2 lying face up).
pub fn from_room(place: &Point, tilt_rad: f64) -> Point {
    let (sin, cos) = tilt_rad.sin_cos();
    Point::new(place.x_m, cos * place.y_m - sin * place.z_m, sin * place.y_m + cos * place.z_m)
}

/// Along which side of the cavity a rib runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Along {
    /// Left to right.
    Width,
    /// Bottom to top.
    Height,
}

/// A stiff strip in a cavity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rib {
    /// Which way it runs.
    pub along: Along,
    /// Where its middle line lies across that way, panel coordinates, m.
    pub at_m: f64,
    /// Its width, m.
    pub width_m: f64,
    /// Whether it reaches from face to back and so makes two cavities; otherwise it is bonded to
    /// the back sheet and only holds that.
    pub divides: bool,
}

/// A rectangle of the face that no cut-out may meet, panel coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeepOut {
    /// Lower left corner, x and y, m.
    pub low_m: [f64; 2],
    /// Upper right corner, m.
    pub high_m: [f64; 2],
}

impl KeepOut {
    /// Whether a disc of radius `radius_m` around (`x_m`, `y_m`) reaches into it.
    pub fn meets_disc(&self, x_m: f64, y_m: f64, radius_m: f64) -> bool {
        let beside = |at: f64, axis: usize| at - at.clamp(self.low_m[axis], self.high_m[axis]);
        beside(x_m, 0).hypot(beside(y_m, 1)) < radius_m
    }
}

/// How a driver sits in the face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Mounting {
    /// Let in: the flange is level with the face.
    #[default]
    Flush,
    /// Screwed on: the flange stands proud of the face.
    Proud,
    /// Behind the face, which is a short tunnel in front of it.
    Behind,
}

impl Mounting {
    /// Every way with the word for it in files and output.
    pub const ALL: [(&'static str, Self); 3] =
        [("flush", Self::Flush), ("proud", Self::Proud), ("behind", Self::Behind)];
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_2;

    #[test]
    fn a_lying_panel_has_the_ceiling_in_front_of_it_and_the_floor_behind() {
        let up = from_room(&Point::new(0.0, 1.0, 0.0), FRAC_PI_2);
        assert!(up.distance_m(&Point::new(0.0, 0.0, 1.0)) < 1e-12);
        let floor = Surface { place: SurfacePlace::Below, distance_m: 0.4, absorption: 0.0 };
        let mirrored = floor.mirrored(&Point::new(0.1, 0.0, 0.6), FRAC_PI_2);
        assert!(mirrored.distance_m(&Point::new(0.1, 0.0, -1.4)) < 1e-12);
    }

    #[test]
    fn a_point_and_its_image_are_equally_far_from_the_surface() {
        let wall = Surface { place: SurfacePlace::Behind, distance_m: 0.3, absorption: 0.19 };
        let ear = Point::new(0.2, 0.4, 0.7);
        let image = wall.mirrored(&ear, 0.3);
        assert!((wall.height_m(&ear, 0.3) + wall.height_m(&image, 0.3)).abs() < 1e-12);
        assert!((wall.reflection() - 0.9).abs() < 1e-12);
    }
}
