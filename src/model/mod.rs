//! Physics: air, drivers, cavities, radiation. Knows nothing of circuits, files or pictures.

pub mod air;
pub mod closed_box;
pub mod coil;
pub mod coupled_cavity;
pub mod driver;
pub mod edges;
pub mod fill;
pub mod fluid;
pub mod given;
pub mod heat;
pub mod layers;
pub mod material;
pub mod measured;
pub mod modes;
pub mod mount;
pub mod piston;
pub mod place;
pub mod plate;
pub mod quadrature;
pub mod shared_air;
pub mod sheet;
pub mod slab_heat;
pub mod sphere;
pub mod spread;
pub mod wave_cavity;
