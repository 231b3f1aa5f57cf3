//! An export as Apache Parquet: one row group, every column optional, no compression.
//!
//! Source: Apache Parquet format, <https://parquet.apache.org/docs/file-format/>.

use crate::review::{Cell, Exported};
use parquet::basic::{ConvertedType, Repetition, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;
use std::sync::Arc;

/// The export as a file.
pub(super) fn write(exported: &Exported) -> Result<Vec<u8>, ParquetError> {
    let kinds: Vec<Physical> = (0..exported.columns.len()).map(|at| kind(exported, at)).collect();
    let fields: Result<Vec<_>, ParquetError> =
        exported.columns.iter().zip(&kinds).map(|(name, kind)| field(name, *kind).map(Arc::new)).collect();
    let schema = Arc::new(Type::group_type_builder("brimline").with_fields(fields?).build()?);
    let properties = Arc::new(WriterProperties::builder().build());
    let mut out = Vec::new();
    let mut writer = SerializedFileWriter::new(&mut out, schema, properties)?;
    let mut group = writer.next_row_group()?;
    for (at, kind) in kinds.into_iter().enumerate() {
        let mut column = group.next_column()?.ok_or_else(|| ParquetError::General("a column too many".to_owned()))?;
        let cells = || exported.rows.iter().map(move |row| &row[at]);
        let there: Vec<i16> = cells().map(|cell| i16::from(*cell != Cell::Empty)).collect();
        match kind {
            Physical::INT64 => {
                let values: Vec<i64> = cells().filter_map(integer).collect();
                column.typed::<Int64Type>().write_batch(&values, Some(&there), None)?;
            }
            Physical::DOUBLE => {
                let values: Vec<f64> = cells().filter_map(number).collect();
                column.typed::<DoubleType>().write_batch(&values, Some(&there), None)?;
            }
            _ => {
                let values: Vec<ByteArray> = cells().filter_map(text).collect();
                column.typed::<ByteArrayType>().write_batch(&values, Some(&there), None)?;
            }
        }
        column.close()?;
    }
    group.close()?;
    writer.close()?;
    Ok(out)
}

/// The type of a column: that of its first cell that is not empty, text if there is none.
fn kind(exported: &Exported, at: usize) -> Physical {
    let first = exported.rows.iter().map(|row| &row[at]).find(|cell| **cell != Cell::Empty);
    match first {
        Some(Cell::Integer(_)) => Physical::INT64,
        Some(Cell::Number(_)) => Physical::DOUBLE,
        _ => Physical::BYTE_ARRAY,
    }
}

fn field(name: &str, kind: Physical) -> Result<Type, ParquetError> {
    let field = Type::primitive_type_builder(name, kind).with_repetition(Repetition::OPTIONAL);
    let text = kind == Physical::BYTE_ARRAY;
    if text { field.with_converted_type(ConvertedType::UTF8).build() } else { field.build() }
}

fn integer(cell: &Cell) -> Option<i64> {
    if let Cell::Integer(value) = cell { Some(*value) } else { None }
}

fn number(cell: &Cell) -> Option<f64> {
    if let Cell::Number(value) = cell { Some(*value) } else { None }
}

fn text(cell: &Cell) -> Option<ByteArray> {
    if let Cell::Text(value) = cell { Some(ByteArray::from(value.as_str())) } else { None }
}
