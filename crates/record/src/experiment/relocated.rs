//! The text of an experiment file as it has to read in another folder: paths in it are relative to the file, so they
//! change; every other byte stays. It opens nothing.

use crate::experiment::file::Experiment;
use crate::store::seen_from;
use std::ops::Range;
use std::path::Path;
use toml::de::{DeTable, DeValue};

/// Tables and keys that hold a path when their value is a text.
const PATHS: &[(&str, &str)] = &[
    ("clip", "path"),
    ("clip", "empty"),
    ("clip", "times"),
    ("log", "path"),
];

impl Experiment {
    /// The text with its paths as seen from `folder`, where the copy will lie, and with `clip` as the clip's path whatever
    /// the file states. `folder` and `clip` are seen from where the program runs.
    pub fn text_seen_from(&self, folder: &Path, clip: &Path) -> String {
        self.moved_to(folder, Some(clip))
    }

    /// The text with its paths as seen from `folder`, where the copy will lie; nothing is added.
    pub fn text_moved_to(&self, folder: &Path) -> String {
        self.moved_to(folder, None)
    }

    fn moved_to(&self, folder: &Path, clip: Option<&Path>) -> String {
        let text = &self.text;
        let plain = text.strip_prefix('\u{feff}').unwrap_or(text);
        let Ok(document) = DeTable::parse(plain) else {
            return text.clone();
        };
        let mut changes: Vec<(Range<usize>, String)> = Vec::new();
        for &(table, key) in PATHS {
            let Some(DeValue::Table(inner)) = document.get_ref().get(table).map(|t| t.get_ref()) else {
                continue;
            };
            let Some(value) = inner.get(key) else { continue };
            if let DeValue::String(written) = value.get_ref() {
                let there = self.path_of(Path::new(&**written));
                let meant = clip
                    .filter(|_| (table, key) == ("clip", "path"))
                    .unwrap_or(&there);
                changes.push((value.span(), quoted(&seen_from(folder, meant))));
            }
        }
        changes.sort_by_key(|(span, _)| span.start);
        let mut moved = plain.to_owned();
        for (span, path) in changes.iter().rev() {
            moved.replace_range(span.clone(), path);
        }
        if let Some(clip) = clip.filter(|_| !document.get_ref().contains_key("clip")) {
            let path = quoted(&seen_from(folder, clip));
            moved += &format!("\n# The clip was given on the command line.\n[clip]\npath = {path}\n");
        }
        moved
    }
}

/// A path as a TOML text, with forward slashes.
fn quoted(path: &Path) -> String {
    let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
    let text = match parts.split_first() {
        Some((root, rest)) if root == "/" => format!("/{}", rest.join("/")),
        _ => parts.join("/"),
    };
    toml::Value::String(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "format = 1\nkind = \"release\" # a remark\n[clip]\npath = 'run 7.mp4' # the clip\nempty = \"bare.png\"\ntimes = \"t.csv\"\n\n[log]\npath = \"cabin.csv\"\n";

    fn experiment(text: &str) -> Experiment {
        let mut experiment = Experiment::parse(text, "x.toml").unwrap();
        experiment.folder = "flight".into();
        experiment
    }

    #[test]
    fn paths_lead_to_the_same_files_and_all_else_stays() {
        let moved = experiment(TEXT).text_seen_from(Path::new("flight/run"), Path::new("flight/run 7.mp4"));
        let expected = TEXT
            .replace("'run 7.mp4'", "\"../run 7.mp4\"")
            .replace("\"bare.png\"", "\"../bare.png\"")
            .replace("\"t.csv\"", "\"../t.csv\"")
            .replace("\"cabin.csv\"", "\"../cabin.csv\"");
        assert_eq!(moved, expected);
    }

    #[test]
    fn a_clip_from_the_command_line_is_written_down() {
        let kept = experiment(TEXT).text_moved_to(Path::new("flight/run"));
        assert!(
            kept.contains("../../run 7.mp4") || kept.contains("../run 7.mp4"),
            "{kept}"
        );
        let bare = "format = 1\nkind = \"release\"\n";
        let moved = experiment(bare).text_seen_from(Path::new("out"), Path::new("clips/\"Öl\".mp4"));
        let clip = experiment(&moved).clip.unwrap();
        assert_eq!(clip.path, Path::new("../clips/\"Öl\".mp4"));
        let other = experiment(TEXT).text_seen_from(Path::new("flight"), Path::new("flight/b.mp4"));
        assert_eq!(experiment(&other).clip.unwrap().path, Path::new("b.mp4"));
    }
}
