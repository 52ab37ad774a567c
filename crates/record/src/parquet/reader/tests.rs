use crate::parquet::error::ParquetError;
use crate::parquet::reader::{read, read_bytes};
use crate::parquet::writer::{TableWriter, write};
use crate::table::{Column, Data, Table};
use proptest::prelude::*;

/// Written once by this program, read correctly by another implementation of the format, and never changed.
const KEPT: &[u8] = include_bytes!("../../../tests/data/table-format-1.parquet");
/// The same columns compressed, with absent values allowed, by another implementation.
const OTHERS: &[u8] = include_bytes!("../../../tests/data/table-of-another-form.parquet");

fn table(rows: i64) -> Table {
    let real = |i: i64| {
        if i == 1 {
            f64::NAN
        } else {
            i as f64 * 0.125 - 1e-300
        }
    };
    Table {
        name: "modes".into(),
        description: "amplitudes of one body, one row a frame".into(),
        columns: vec![
            Column::new(
                "time",
                "s",
                "real time",
                Data::Real((0..rows).map(real).collect()),
            ),
            Column::new(
                "frame",
                "1",
                "frame in the clip",
                Data::Integer((0..rows).map(|i| i - 2).collect()),
            ),
            Column::new(
                "note",
                "1",
                "",
                Data::Text((0..rows).map(|i| "ä\"".repeat(i as usize % 3)).collect()),
            ),
            Column::new(
                "free",
                "1",
                "free of touch",
                Data::Flag((0..rows).map(|i| i % 3 == 0).collect()),
            ),
        ],
    }
}

/// NaN equals nothing; the text form of both tables does.
fn same(a: &Table, b: &Table) -> bool {
    a.emptied() == b.emptied() && a.to_csv().unwrap() == b.to_csv().unwrap()
}

fn bytes_of(table: &Table) -> Vec<u8> {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("x.parquet");
    write(&path, table).unwrap();
    std::fs::read(&path).unwrap()
}

#[test]
fn the_kept_file_is_read_and_written_again_to_the_byte() {
    let kept = read_bytes(KEPT).unwrap();
    assert!(same(&kept, &table(11)));
    assert_eq!(bytes_of(&table(11)), KEPT);
}

#[test]
fn pieces_make_one_table() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("series/modes.parquet");
    let mut writer = TableWriter::create(&path, &table(5)).unwrap();
    for rows in [3, 0, 20, 9] {
        writer.append(&table(rows)).unwrap();
    }
    let mut renamed = table(3);
    renamed.columns[0].unit = "ms".into();
    assert!(matches!(
        writer.append(&renamed),
        Err(ParquetError::OtherColumns { .. })
    ));
    assert!(!path.exists());
    writer.finish().unwrap();
    let whole = read(&path).unwrap();
    assert_eq!(whole.rows(), 32);
    assert_eq!(whole.integers("frame").unwrap()[..5], [-2, -1, 0, -2, -1]);
    assert_eq!(whole.flags("free").unwrap()[3..7], [true, false, false, true]);
    let empty = bytes_of(&table(0));
    assert_eq!(read_bytes(&empty).unwrap(), table(0));
}

#[test]
fn a_file_of_another_form_is_refused_by_what_it_is() {
    let told = read_bytes(OTHERS).unwrap_err();
    assert!(matches!(told, ParquetError::OtherForm { .. }), "{told}");
    assert!(told.to_string().contains("column time"), "{told}");
    for (bytes, what) in [
        (
            &include_bytes!("../../../tests/data/table-with-dictionary.parquet")[..],
            "with a dictionary",
        ),
        (
            include_bytes!("../../../tests/data/table-compressed.parquet"),
            "compressed column time",
        ),
    ] {
        let told = read_bytes(bytes).unwrap_err().to_string();
        assert!(told.contains(what), "{told}");
    }
    // The form is ours, the program that wrote it is not.
    let foreign = include_bytes!("../../../tests/data/table-of-another-program.parquet");
    let foreign = read_bytes(foreign).unwrap();
    assert_eq!(
        (foreign.reals("time").unwrap(), foreign.columns[0].unit.as_str()),
        (&[1.0, 1.0, 2.0][..], "1")
    );
}

#[test]
fn a_damaged_file_is_refused() {
    let good = bytes_of(&table(40));
    for cut in 0..good.len() {
        assert!(read_bytes(&good[..cut]).is_err(), "{cut}");
        assert!(read_bytes(&good[cut + 1..]).is_err(), "{cut}");
    }
    assert!(read_bytes(b"PAR1").is_err());
}

proptest! {
    #[test]
    fn every_table_goes_round(
        reals in prop::collection::vec(any::<f64>(), 30),
        integers in prop::collection::vec(any::<i64>(), 30),
        texts in prop::collection::vec("\\PC*", 30),
        flags in prop::collection::vec(any::<bool>(), 30),
        rows in 0_usize..30,
    ) {
        let mut table = table(0);
        table.columns[0].data = Data::Real(reals[..rows].to_vec());
        table.columns[1].data = Data::Integer(integers[..rows].to_vec());
        table.columns[2].data = Data::Text(texts[..rows].to_vec());
        table.columns[3].data = Data::Flag(flags[..rows].to_vec());
        prop_assert!(same(&read_bytes(&bytes_of(&table)).unwrap(), &table));
    }

    #[test]
    fn no_change_makes_it_panic(at in 0_usize..10_000, byte in any::<u8>(), more in 0_usize..10_000) {
        let mut bytes = KEPT.to_vec();
        let length = bytes.len();
        bytes[at % length] = byte;
        bytes[more % length] ^= 0x81;
        drop(read_bytes(&bytes));
    }
}
