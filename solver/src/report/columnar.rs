//! Rows of a study as Parquet, for programs that read tables by their columns. The only file that
//! names the Parquet library.
//!
//! In: the rows as comma-separated text with their heads, as [`crate::study::row`] writes them. Out:
//! the same rows, the number of the case as an integer, words as text, figures as doubles to the last
//! bit; what is empty is null. Rows are read and written some at a time, so that memory stays flat.

use std::io::{self, Read, Write};
use std::sync::Arc;

use csv::StringRecord;
use parquet::basic::{LogicalType, Repetition, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::Type;

/// Rows of a group.
const GROUP: usize = 10_000;
/// Columns of words that stand beside the keys: case, study before, outcome, how, reason after.
const BESIDE: usize = 5;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Holds {
    Number,
    Words,
    Figures,
}

/// Writes the rows of `csv`, whose study varies `keys` keys, to `out`. Returns how many there were.
///
/// # Errors
/// `csv` cannot be read or holds no such rows, or `out` cannot be written.
pub fn write_columnar(csv: impl Read, keys: usize, out: impl Write + Send) -> io::Result<u64> {
    let mut reader = csv::Reader::from_reader(csv);
    let heads = reader.headers()?.clone();
    let holds = |i: usize| match i {
        0 => Holds::Number,
        i if i < keys + BESIDE => Holds::Words,
        _ => Holds::Figures,
    };
    let columns: Vec<Holds> = (0..heads.len()).map(holds).collect();
    let schema = schema(&heads, &columns).map_err(as_io)?;
    let made_by = format!("lodestring {}", env!("CARGO_PKG_VERSION"));
    let properties = WriterProperties::builder().set_created_by(made_by).build();
    let mut writer =
        SerializedFileWriter::new(out, Arc::new(schema), Arc::new(properties)).map_err(as_io)?;
    let mut written = 0;
    loop {
        let rows: Vec<StringRecord> =
            reader.records().take(GROUP).collect::<Result<_, csv::Error>>()?;
        if rows.is_empty() {
            break;
        }
        let mut group = writer.next_row_group().map_err(as_io)?;
        for (i, holds) in columns.iter().enumerate() {
            if let Some(column) = group.next_column().map_err(as_io)? {
                write_column(column, *holds, rows.iter().map(|row| row.get(i).unwrap_or("")))?;
            }
        }
        group.close().map_err(as_io)?;
        written += rows.len() as u64;
    }
    writer.close().map_err(as_io)?;
    Ok(written)
}

fn schema(heads: &StringRecord, columns: &[Holds]) -> Result<Type, ParquetError> {
    let field = |(name, holds): (&str, &Holds)| {
        let (physical, logical, repetition) = match holds {
            Holds::Number => (Physical::INT64, None, Repetition::REQUIRED),
            Holds::Words => (Physical::BYTE_ARRAY, Some(LogicalType::String), Repetition::OPTIONAL),
            Holds::Figures => (Physical::DOUBLE, None, Repetition::OPTIONAL),
        };
        Type::primitive_type_builder(name, physical)
            .with_logical_type(logical)
            .with_repetition(repetition)
            .build()
            .map(Arc::new)
    };
    let fields: Result<Vec<_>, ParquetError> = heads.iter().zip(columns).map(field).collect();
    Type::group_type_builder("study").with_fields(fields?).build()
}

fn write_column<'a>(
    mut column: SerializedColumnWriter<'_>,
    holds: Holds,
    fields: impl Iterator<Item = &'a str> + Clone,
) -> io::Result<()> {
    let there: Vec<i16> = fields.clone().map(|field| i16::from(!field.is_empty())).collect();
    let full = fields.filter(|field| !field.is_empty());
    match holds {
        Holds::Number => {
            let numbers = full.map(parsed).collect::<io::Result<Vec<i64>>>()?;
            column.typed::<Int64Type>().write_batch(&numbers, None, None).map_err(as_io)?;
        }
        Holds::Words => {
            let words: Vec<ByteArray> = full.map(ByteArray::from).collect();
            column
                .typed::<ByteArrayType>()
                .write_batch(&words, Some(&there), None)
                .map_err(as_io)?;
        }
        Holds::Figures => {
            let figures = full.map(parsed).collect::<io::Result<Vec<f64>>>()?;
            column
                .typed::<DoubleType>()
                .write_batch(&figures, Some(&there), None)
                .map_err(as_io)?;
        }
    }
    column.close().map_err(as_io)
}

fn parsed<T: std::str::FromStr>(field: &str) -> io::Result<T> {
    field.parse().map_err(|_| {
        io::Error::new(io::ErrorKind::InvalidData, format!("`{field}` is no number of a row"))
    })
}

fn as_io(error: ParquetError) -> io::Error {
    match error {
        ParquetError::External(source) => match source.downcast::<io::Error>() {
            Ok(source) => *source,
            Err(other) => io::Error::other(other),
        },
        other => io::Error::other(other),
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use parquet::file::reader::{FileReader, SerializedFileReader};
    use parquet::record::RowAccessor;

    const ROWS: &str = "case,study,a.b,outcome,how,reason,p,q
1,ab12,1.5 mm,solved,own mesh,,-1.25e-7,
2,ab12,\"one, two\",failed,,overlap,,
3,ab12,2 mm,solved,same mesh,,0.1,2.0
";

    #[test]
    fn reads_back_what_was_written() {
        let mut bytes = Vec::new();
        assert_eq!(write_columnar(ROWS.as_bytes(), 1, &mut bytes).unwrap(), 3);
        let reader = SerializedFileReader::new(bytes::Bytes::from(bytes.clone())).unwrap();
        let made_by = reader.metadata().file_metadata().created_by().unwrap().to_owned();
        assert!(made_by.starts_with("lodestring "), "{made_by}");
        let rows: Vec<_> = reader.get_row_iter(None).unwrap().map(Result::unwrap).collect();
        assert_eq!(rows.len(), 3);
        assert_eq!(
            (rows[0].get_long(0).unwrap(), rows[0].get_string(2).unwrap().as_str()),
            (1, "1.5 mm")
        );
        assert_eq!(rows[0].get_double(6).unwrap(), -1.25e-7);
        // Null: neither of the two.
        assert!(rows[0].get_double(7).is_err() && rows[0].get_string(5).is_err());
        assert_eq!(rows[1].get_string(2).unwrap(), "one, two");
        assert_eq!(rows[1].get_string(5).unwrap(), "overlap");
        assert_eq!((rows[2].get_double(6).unwrap(), rows[2].get_double(7).unwrap()), (0.1, 2.0));
        let mut again = Vec::new();
        write_columnar(ROWS.as_bytes(), 1, &mut again).unwrap();
        assert_eq!(again, bytes);
    }

    #[test]
    fn what_is_no_table_and_a_full_disk_are_errors() {
        let mut none = Vec::new();
        let odd = ROWS.replace("0.1", "much");
        assert!(write_columnar(odd.as_bytes(), 1, &mut none).is_err());
        let mut small = [0u8; 20];
        assert!(write_columnar(ROWS.as_bytes(), 1, &mut small[..]).is_err());
    }
}
