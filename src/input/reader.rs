//! The reader of TOML input files: asks for one key after another, remembers every fault, and
//! refuses the file at the end with all of them.
//!
//! ```
//! use slabtone::input::reader::{Bounds, Document};
//!
//! let text = "slabtone = 1\nkind = \"driver\"\nname = \"Bramble\"\n[size]\ndepth_mm = 42\n";
//! let document = Document::parse("bramble.toml", text, &["driver"])?;
//! let mut root = document.root();
//! let name = root.text("name");
//! let mut size = root.section("size");
//! let depth_m = size.number("depth_mm", Bounds::new(5.0, 400.0, "mm")) * 1e-3;
//! drop((root, size)); // every key that nobody asked for is reported here
//! document.finish()?;
//! assert_eq!((name.as_str(), depth_m), ("Bramble", 0.042));
//! # Ok::<(), slabtone::input::fault::InputError>(())
//! ```
//!
//! A key that is missing or wrong yields a *stand-in* of the right type within its limits, so that
//! reading goes on and finds the other faults. A stand-in never escapes: [`Document::finish`]
//! refuses the file.

mod ask;
mod bounds;
mod document;
mod keys;
mod section;
mod syntax;
mod value;

#[cfg(test)]
mod tests;

pub use bounds::Bounds;
pub use document::{Document, VERSION, kind_of};
pub use section::Section;
