//! The run folder as a research object: `ro-crate-metadata.json`, which says what each file is and what made it.
//!
//! One flat graph in JSON-LD: the description itself, the folder, its files, the program, and the action that took the
//! inputs and gave the files. Source: \[ROCrate11\] sections "Root Data Entity", "Data Entities" and "Provenance". Who made
//! the run and under which licence is left to the experimenter unless given.

use crate::provenance::Provenance;
use crate::store::{self, StoreError};
use serde_json::{Value, json};
use std::path::Path;

/// Name of the file.
pub const NAME: &str = "ro-crate-metadata.json";

/// What the folder is called.
#[derive(Debug, Clone, Copy)]
pub struct About<'a> {
    /// Title of the run.
    pub title: &'a str,
    /// What it holds, in a sentence.
    pub description: &'a str,
    /// Web address of the licence of the data, if the experimenter gave one.
    pub license: Option<&'a str>,
}

/// The text of the file for the run folder `run` as it now is; write it last.
///
/// # Errors
/// The folder cannot be read.
pub fn crate_metadata(run: &Path, about: About<'_>, provenance: &Provenance) -> Result<String, StoreError> {
    let mut files = Vec::new();
    for name in store::files_under(run)? {
        let parts: Vec<_> = name.iter().map(|part| part.to_string_lossy()).collect();
        let name_in_run = parts.join("/");
        if name_in_run != NAME {
            files.push(file(&name_in_run, store::size_of_file(&run.join(&name))?));
        }
    }
    let inputs = inputs(provenance);
    let mut graph = vec![itself(), root(about, provenance, &files), program(provenance)];
    graph.push(action(provenance, &inputs, &files));
    graph.extend(inputs);
    graph.extend(files);
    let whole = json!({ "@context": "https://w3id.org/ro/crate/1.1/context", "@graph": graph });
    Ok(format!("{whole:#}\n"))
}

fn itself() -> Value {
    json!({
        "@id": NAME,
        "@type": "CreativeWork",
        "conformsTo": { "@id": "https://w3id.org/ro/crate/1.1" },
        "about": { "@id": "./" },
    })
}

fn root(about: About<'_>, provenance: &Provenance, files: &[Value]) -> Value {
    let date = provenance.finished.as_ref().unwrap_or(&provenance.started);
    let mut root = json!({
        "@id": "./",
        "@type": "Dataset",
        "name": about.title,
        "description": about.description,
        "datePublished": date,
        "hasPart": links(files),
        "mentions": { "@id": "#run" },
    });
    if let Some(license) = about.license {
        root["license"] = json!({ "@id": license });
    }
    root
}

fn program(provenance: &Provenance) -> Value {
    json!({
        "@id": "#program",
        "@type": "SoftwareApplication",
        "name": provenance.program.name,
        "version": provenance.program.version,
    })
}

fn action(provenance: &Provenance, inputs: &[Value], files: &[Value]) -> Value {
    let mut action = json!({
        "@id": "#run",
        "@type": "CreateAction",
        "name": provenance.command.join(" "),
        "startTime": provenance.started,
        "instrument": { "@id": "#program" },
        "object": links(inputs),
        "result": links(files),
    });
    if let Some(finished) = &provenance.finished {
        action["endTime"] = json!(finished);
    }
    action
}

fn inputs(provenance: &Provenance) -> Vec<Value> {
    let inputs = provenance.inputs.iter().enumerate();
    inputs
        .map(|(i, input)| {
            json!({
                "@id": format!("#input-{}", i + 1),
                "@type": "CreativeWork",
                "name": input.path,
                "description": input.role,
                "identifier": format!("sha256:{}", input.sha256),
            })
        })
        .collect()
}

fn file(name: &str, bytes: u64) -> Value {
    json!({
        "@id": encoded(name),
        "@type": "File",
        "name": name,
        "encodingFormat": media_type(name),
        "contentSize": bytes.to_string(),
    })
}

fn links(entities: &[Value]) -> Value {
    entities
        .iter()
        .map(|entity| json!({ "@id": entity["@id"] }))
        .collect()
}

/// A relative path as a URI reference: all but unreserved letters and `/` as percent codes, \[RFC3986\] 2.1 and 2.3.
fn encoded(path: &str) -> String {
    let code = |byte: u8| match byte {
        b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => {
            char::from(byte).to_string()
        }
        other => format!("%{other:02X}"),
    };
    path.bytes().map(code).collect()
}

fn media_type(name: &str) -> &'static str {
    let ending = name
        .rsplit_once('.')
        .map_or("", |(_, ending)| ending)
        .to_ascii_lowercase();
    match ending.as_str() {
        "json" => "application/json",
        "toml" => "application/toml",
        "csv" => "text/csv",
        "html" => "text/html",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "mp4" => "video/mp4",
        "parquet" => "application/vnd.apache.parquet",
        "txt" | "md" => "text/plain",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::{About, NAME, crate_metadata, encoded};
    use crate::provenance::Provenance;
    use crate::store::write_whole;
    use serde_json::Value;
    use std::time::UNIX_EPOCH;

    #[test]
    fn every_file_is_described_and_every_link_leads_somewhere() {
        let place = tempfile::tempdir().unwrap();
        for name in [
            "findings.json",
            "series/modes.parquet",
            "figures/Öl 1.svg",
            ".hidden",
            NAME,
        ] {
            write_whole(&place.path().join(name), b"abc").unwrap();
        }
        let mut provenance = Provenance::begin(&["measure".into(), "run7.toml".into()], UNIX_EPOCH);
        provenance
            .add_input("clip", &place.path().join("findings.json"))
            .unwrap();
        provenance.finish(UNIX_EPOCH);
        let license = Some("https://creativecommons.org/licenses/by/4.0/");
        let about = About {
            title: "Run 7",
            description: "A run",
            license,
        };
        let text = crate_metadata(place.path(), about, &provenance).unwrap();
        let tree: Value = serde_json::from_str(&text).unwrap();
        let graph = tree["@graph"].as_array().unwrap();
        let of = |id: &str| {
            graph
                .iter()
                .find(|entity| entity["@id"] == id)
                .unwrap_or_else(|| panic!("{id}"))
        };
        // Required by RO-Crate 1.1, sections "RO-Crate Metadata File Descriptor" and "Root Data Entity" (from memory).
        assert_eq!(of(NAME)["conformsTo"]["@id"], "https://w3id.org/ro/crate/1.1");
        assert_eq!(of(NAME)["about"]["@id"], "./");
        assert_eq!(of("./")["@type"], "Dataset");
        assert_eq!(of("./")["datePublished"], "1970-01-01T00:00:00Z");
        let parts: Vec<&str> = of("./")["hasPart"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| p["@id"].as_str().unwrap())
            .collect();
        assert_eq!(
            parts,
            ["figures/%C3%96l%201.svg", "findings.json", "series/modes.parquet"]
        );
        assert!(
            parts
                .iter()
                .all(|id| of(id)["@type"] == "File" && of(id)["contentSize"] == "3")
        );
        assert_eq!(of("#run")["instrument"]["@id"], "#program");
        assert_eq!(of("#run")["object"][0]["@id"], "#input-1");
        assert!(
            of("#input-1")["identifier"]
                .as_str()
                .unwrap()
                .starts_with("sha256:ba7816bf")
        );
        let without = crate_metadata(
            place.path(),
            About {
                license: None,
                ..about
            },
            &provenance,
        )
        .unwrap();
        assert!(text.contains("license") && !without.contains("license"));
    }

    #[test]
    fn paths_become_references() {
        assert_eq!(encoded("a b/ä%.csv"), "a%20b/%C3%A4%25.csv");
    }
}
