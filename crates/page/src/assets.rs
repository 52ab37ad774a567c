//! The page itself, inside the program: one document and plain modules, as they lie in `assets/`.

use axum::extract::Path;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;

use crate::answer::Answer;
use crate::error::PageError;

const HTML: &str = "text/html; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";
const PICTURE: &str = "image/svg+xml";

macro_rules! asset {
    ($name:literal, $kind:expr) => {
        (
            $name,
            $kind,
            include_bytes!(concat!("../assets/", $name)) as &[u8],
        )
    };
}

/// Name, kind, content of every file of the page.
pub const ASSETS: &[(&str, &str, &[u8])] = &[
    asset!("index.html", HTML),
    asset!("page.css", STYLE),
    asset!("mark.svg", PICTURE),
    asset!("api.js", SCRIPT),
    asset!("away.js", SCRIPT),
    asset!("chart.js", SCRIPT),
    asset!("clock.js", SCRIPT),
    asset!("compare.js", SCRIPT),
    asset!("computed.js", SCRIPT),
    asset!("dom.js", SCRIPT),
    asset!("experiment.js", SCRIPT),
    asset!("film.js", SCRIPT),
    asset!("findings.js", SCRIPT),
    asset!("form.js", SCRIPT),
    asset!("glance.js", SCRIPT),
    asset!("jobs.js", SCRIPT),
    asset!("lanes.js", SCRIPT),
    asset!("main.js", SCRIPT),
    asset!("number.js", SCRIPT),
    asset!("pictures.js", SCRIPT),
    asset!("plan.js", SCRIPT),
    asset!("pointing.js", SCRIPT),
    asset!("run.js", SCRIPT),
    asset!("save.js", SCRIPT),
    asset!("shape.js", SCRIPT),
    asset!("sheet.js", SCRIPT),
    asset!("solid.js", SCRIPT),
    asset!("start.js", SCRIPT),
    asset!("strip.js", SCRIPT),
    asset!("tools.js", SCRIPT),
    asset!("transport.js", SCRIPT),
];

fn named(name: &str) -> Answer {
    let found = ASSETS.iter().find(|(known, ..)| *known == name);
    let (_, kind, content) = found.ok_or_else(|| PageError::Absent(format!("file {name} in the page")))?;
    Ok(([(CONTENT_TYPE, *kind)], *content).into_response())
}

/// The document; every address of the page shows it.
///
/// # Errors
/// None; the form is that of a handler.
pub async fn document() -> Answer {
    named("index.html")
}

/// A file of the page.
///
/// # Errors
/// There is none of that name.
pub async fn asset(Path(name): Path<String>) -> Answer {
    named(&name)
}

#[cfg(test)]
mod tests {
    use super::ASSETS;

    #[test]
    fn every_file_of_the_folder_is_in_the_program_and_the_page_is_light() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/assets");
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            let name = entry.file_name().to_string_lossy().into_owned();
            let known = ASSETS.iter().any(|(known, ..)| *known == name);
            assert!(
                known || name.ends_with(".json") || name.ends_with(".d.ts"),
                "{name}"
            );
        }
        let weight: usize = ASSETS.iter().map(|(.., content)| content.len()).sum();
        assert!(weight < 300_000, "{weight} bytes");
    }

    #[test]
    fn no_script_or_style_stands_in_the_document() {
        let (.., html) = ASSETS[0];
        let html = std::str::from_utf8(html).unwrap();
        assert!(!html.contains("<style") && !html.contains(" style=") && !html.contains(" on"));
        for script in html.split("<script").skip(1) {
            assert!(
                script.contains("src=") && script.contains("></script>"),
                "{script}"
            );
        }
        assert!(!html.contains("//"), "asks for nothing from elsewhere");
    }
}
