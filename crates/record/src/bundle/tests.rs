use super::*;
use std::fs;

fn run(place: &Path) -> PathBuf {
    let run = place.join("run 7");
    store::write_whole(&run.join("findings.json"), b"{ \"format\": 1 }").unwrap();
    store::write_whole(
        &run.join("report.html"),
        "<p>Tröpfchen</p>".repeat(500).as_bytes(),
    )
    .unwrap();
    store::write_whole(&run.join("series/modes.parquet"), &[7; 3000]).unwrap();
    store::write_whole(&run.join("figures/instant-1.png"), &[1, 2, 3]).unwrap();
    store::write_whole(&run.join("history/t/findings.json"), b"old").unwrap();
    store::write_whole(&run.join(".hidden"), b"x").unwrap();
    run
}

#[test]
fn a_run_goes_round_and_the_same_folder_gives_the_same_bytes() {
    let place = tempfile::tempdir().unwrap();
    let run = run(place.path());
    let (one, two) = (place.path().join("one.zip"), place.path().join("two.zip"));
    let packed = pack(&run, &one, false).unwrap();
    assert_eq!(packed.files, 4);
    // Another time on the files, the same content.
    store::write_whole(
        &run.join("report.html"),
        "<p>Tröpfchen</p>".repeat(500).as_bytes(),
    )
    .unwrap();
    pack(&run, &two, false).unwrap();
    assert_eq!(fs::read(&one).unwrap(), fs::read(&two).unwrap());
    assert!(fs::metadata(&one).unwrap().len() < packed.bytes / 2);
    let out = place.path().join("opened");
    assert_eq!(open(&one, &out).unwrap(), packed);
    for name in [
        "findings.json",
        "report.html",
        "series/modes.parquet",
        "figures/instant-1.png",
    ] {
        assert_eq!(
            fs::read(out.join(name)).unwrap(),
            fs::read(run.join(name)).unwrap(),
            "{name}"
        );
    }
    assert!(!out.join("history").exists() && !out.join(CHECKSUMS).exists());
    assert!(matches!(pack(&run, &one, false), Err(BundleError::There(_))));
    pack(&run, &one, true).unwrap();
    assert!(open(&one, &out).is_err(), "never over a folder that is there");
    assert!(matches!(
        pack(place.path(), &two, true),
        Err(BundleError::Folder(FolderError::NoRun(_)))
    ));
}

/// An archive of these files with this list of sums.
fn archive(file: &Path, list: &str, files: &[(&str, &[u8])]) {
    let mut archive = ZipWriter::new(File::create(file).unwrap());
    let plain = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    archive.start_file(format!("run/{CHECKSUMS}"), plain).unwrap();
    archive.write_all(list.as_bytes()).unwrap();
    for (name, content) in files {
        archive.start_file(*name, plain).unwrap();
        archive.write_all(content).unwrap();
    }
    archive.finish().unwrap();
}

// FIPS 180-4, example "abc" (from memory).
const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

#[test]
fn a_file_that_was_changed_or_added_or_leads_outside_is_refused_and_nothing_is_left() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("x.zip");
    let out = place.path().join("deep/out");
    let list = |name: &str| format!("{ABC}  {name}\n");
    archive(&file, &list("findings.json"), &[("run/findings.json", b"abc")]);
    open(&file, &out).unwrap();
    fs::remove_dir_all(&out).unwrap();
    archive(&file, &list("findings.json"), &[("run/findings.json", b"abd")]);
    assert!(matches!(open(&file, &out), Err(BundleError::Changed { name, .. }) if name == "findings.json"));
    archive(&file, &list("findings.json"), &[]);
    assert!(open(&file, &out).is_err(), "a file is missing");
    archive(
        &file,
        &list("findings.json"),
        &[("run/findings.json", b"abc"), ("run/more", b"")],
    );
    assert!(open(&file, &out).is_err_and(|why| why.to_string().contains("more")));
    for outside in ["../evil", "/evil", "a/../../evil"] {
        archive(&file, &list(outside), &[(&format!("run/{outside}"), b"abc")]);
        assert!(open(&file, &out).is_err(), "{outside}");
    }
    fs::write(&file, b"no archive").unwrap();
    assert!(open(&file, &out).is_err());
    assert!(!out.exists() && !place.path().join("evil").exists() && !place.path().join("deep/evil").exists());
    assert_eq!(fs::read_dir(place.path().join("deep")).unwrap().count(), 0);
}

#[test]
fn a_damaged_archive_is_refused_wherever_it_is_cut() {
    let place = tempfile::tempdir().unwrap();
    let run = run(place.path());
    let whole = place.path().join("whole.zip");
    pack(&run, &whole, false).unwrap();
    let bytes = fs::read(&whole).unwrap();
    let cut = place.path().join("cut.zip");
    for share in [0.1, 0.5, 0.9, 0.99] {
        fs::write(&cut, &bytes[..(bytes.len() as f64 * share) as usize]).unwrap();
        assert!(open(&cut, &place.path().join("out")).is_err(), "{share}");
    }
    assert!(!place.path().join("out").exists());
}
