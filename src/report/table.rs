//! Tables for the terminal: no lines, columns apart, wrapped to the width.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table};

/// A table without lines.
pub fn plain_table() -> Table {
    let mut table = Table::new();
    table.load_style(comfy_table::presets::NOTHING);
    table
}

/// Aligns the column `index` to the right.
pub fn right_align(table: &mut Table, index: usize) {
    if let Some(column) = table.column_mut(index) {
        column.set_cell_alignment(CellAlignment::Right);
    }
}

/// Which column gives way where the width is short.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gives {
    /// The first.
    First,
    /// The last.
    Last,
}

/// The table as text, indented by two, in lines of at most `width` characters where its words
/// allow; one column takes what room is left.
pub fn lines(mut table: Table, width: u16, gives: Gives) -> String {
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(width.saturating_sub(1).max(40));
    let flexible = match gives {
        Gives::First => 0,
        Gives::Last => table.column_count().saturating_sub(1),
    };
    for column in table.column_iter_mut().filter(|c| c.index != flexible) {
        column.set_constraint(ColumnConstraint::ContentWidth);
    }
    let text = table.to_string();
    text.lines().map(|line| format!(" {}\n", line.trim_end())).collect()
}
