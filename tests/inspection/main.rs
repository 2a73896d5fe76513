//! Diagnosis put to the test: units with known faults from a generator that holds what the diagnosis
//! lacks. `SLABTONE_BLESS=1` writes the table in `README.md` anew.

mod confusion;
mod other_unit;
