//! Finds the runs below a folder. Links are not followed, so that nothing outside is listed and no circle is walked.

use std::path::Path;

use crate::catalogue::row::{Row, State};
use crate::store;

/// Folders deeper than this below the first are not looked at.
const DEEPEST: usize = 12;

/// Every run, and every folder that looks like one, below `root`, sorted by path.
pub fn rows(root: &Path) -> Vec<Row> {
    let mut all = Vec::new();
    look(root, String::new(), 0, &mut all);
    all.sort_by(|a, b| a.folder.cmp(&b.folder));
    all
}

fn look(path: &Path, folder: String, depth: usize, all: &mut Vec<Row>) {
    let name = path
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    if depth > 0 && name.starts_with('.') {
        if name.ends_with(".unfinished") {
            let reason = "measuring it was interrupted, or still goes on; a folder that nobody fills any more may be deleted";
            all.push(Row::not_whole(folder, State::Unfinished, reason.to_owned()));
        }
        return;
    }
    if depth > 0 && name.contains(".replaced-") {
        let reason = "moved aside when its clip was measured again";
        all.push(Row::not_whole(folder, State::Replaced, reason.to_owned()));
        return;
    }
    if path.join("findings.json").is_file() {
        all.push(Row::read(
            path,
            if folder.is_empty() { ".".to_owned() } else { folder },
        ));
        return;
    }
    if depth > 0 && path.join("provenance.json").is_file() {
        let reason = "it holds no findings.json; measure its clip again";
        all.push(Row::not_whole(folder, State::Broken, reason.to_owned()));
        return;
    }
    if depth == DEEPEST {
        return;
    }
    for below in store::entries(path) {
        let real = below.symlink_metadata().is_ok_and(|about| about.is_dir());
        if real {
            let name = below.file_name().unwrap_or_default().to_string_lossy();
            let inside = if folder.is_empty() {
                name.into_owned()
            } else {
                format!("{folder}/{name}")
            };
            look(&below, inside, depth + 1, all);
        }
    }
}
