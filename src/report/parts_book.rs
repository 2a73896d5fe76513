//! The parts list as a workbook (Office Open XML, ISO/IEC 29500), two sheets.

use super::parts_doc;
use super::parts_table::{self, Cell, Table};
use crate::analysis::parts_list::PartsList;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

/// The workbook's bytes; the same list gives the same bytes.
///
/// # Errors
/// What the library has against it: a text too long for a cell, more rows than a sheet holds.
pub fn xlsx(list: &PartsList) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // A day of its own would make two files of one list differ.
    let day = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&day));
    for table in [parts_table::places(list), parts_table::orders(list)] {
        let sheet = book.add_worksheet();
        sheet.set_name(table.title)?;
        fill(sheet, &table)?;
    }
    let sheet = book.add_worksheet();
    sheet.set_name("In words")?;
    for (row, sentence) in parts_doc::sentences(list).iter().enumerate() {
        sheet.write_string(row as u32, 0, sentence)?;
    }
    book.save_to_buffer()
}

fn fill(sheet: &mut Worksheet, table: &Table) -> Result<(), XlsxError> {
    let (bold, money) = (Format::new().set_bold(), Format::new().set_num_format("0.00"));
    for (column, name) in table.header.iter().enumerate() {
        sheet.write_string_with_format(0, column as u16, name, &bold)?;
    }
    for (row, cells) in table.rows.iter().enumerate() {
        for (column, cell) in cells.iter().enumerate() {
            let (row, column) = (row as u32 + 1, column as u16);
            match cell {
                Cell::Text(text) if text.is_empty() => continue,
                Cell::Text(text) => sheet.write_string(row, column, text)?,
                Cell::Number(value) => sheet.write_number(row, column, *value)?,
                Cell::Money(value) => {
                    sheet.write_number_with_format(row, column, *value, &money)?
                }
            };
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    sheet.autofit();
    Ok(())
}
