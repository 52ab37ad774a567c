//! Every route of the server, in one table; `docs/openapi.json` describes them, and a test holds one against the other.

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::from_fn_with_state;
use axum::routing::{MethodRouter, delete, get, post, put};

use crate::app::App;
use crate::error::PageError;
use crate::guard::guard;
use crate::{assets, away, experiments, frames, jobs, media, runs, upload};

/// Most bytes of a request that is no clip.
const LARGEST: usize = 1 << 20;

type Route = (&'static str, &'static str, MethodRouter<Arc<App>>);

/// Method, path and who answers.
fn table() -> Vec<Route> {
    vec![
        ("get", "/", get(assets::document)),
        ("get", "/run", get(assets::document)),
        ("get", "/experiment", get(assets::document)),
        ("get", "/compare", get(assets::document)),
        ("get", "/assets/{name}", get(assets::asset)),
        ("get", "/files/{*path}", get(media::file)),
        ("get", "/api/folder", get(runs::held)),
        ("get", "/api/run", get(runs::run)),
        ("get", "/api/lanes", get(runs::lanes_of)),
        ("get", "/api/outline", get(runs::outline_of)),
        ("post", "/api/report", post(experiments::remake)),
        ("post", "/api/compare", post(away::several)),
        ("post", "/api/comparison", post(away::told)),
        ("post", "/api/table", post(away::table)),
        ("post", "/api/bundle", post(away::packed)),
        ("get", "/api/experiment", get(experiments::read)),
        ("put", "/api/experiment", put(experiments::write)),
        ("post", "/api/experiment", post(experiments::start)),
        ("post", "/api/check", post(experiments::check)),
        ("post", "/api/alter", post(experiments::alter)),
        ("post", "/api/plan", post(experiments::plan)),
        ("get", "/api/liquids", get(experiments::liquids)),
        ("get", "/api/diameter", get(experiments::diameter)),
        ("get", "/api/suggestion", get(experiments::suggestion)),
        ("get", "/api/clip", get(frames::about)),
        (
            "put",
            "/api/clip",
            put(upload::clip).layer(DefaultBodyLimit::disable()),
        ),
        ("get", "/api/frame", get(frames::frame)),
        ("post", "/api/try", post(frames::tried)),
        ("get", "/api/jobs", get(jobs::all)),
        ("post", "/api/jobs", post(jobs::add)),
        ("get", "/api/jobs/events", get(jobs::follow)),
        ("delete", "/api/jobs/{id}", delete(jobs::stop)),
    ]
}

/// The routes behind the guard.
pub fn routes(app: Arc<App>) -> Router {
    let mut router = Router::new();
    for (_, path, answers) in table() {
        router = router.route(path, answers);
    }
    router
        .fallback(|| async { PageError::Absent("such address".into()) })
        .layer(DefaultBodyLimit::max(LARGEST))
        .layer(from_fn_with_state(app.clone(), guard))
        .with_state(app)
}

#[cfg(test)]
mod tests {
    use super::table;
    use serde_json::Value;
    use std::collections::BTreeSet;

    #[test]
    fn the_document_describes_every_route_and_no_other() {
        let text = include_str!("../../../docs/openapi.json");
        let document: Value = serde_json::from_str(text).unwrap();
        let described: BTreeSet<(String, String)> = document["paths"]
            .as_object()
            .unwrap()
            .iter()
            .flat_map(|(path, methods)| {
                methods
                    .as_object()
                    .unwrap()
                    .keys()
                    .map(|m| (m.clone(), path.clone()))
            })
            .collect();
        let there: BTreeSet<(String, String)> = table()
            .into_iter()
            .map(|(method, path, _)| (method.to_owned(), path.replace("{*", "{")))
            .collect();
        assert_eq!(described, there);
    }

    #[test]
    fn every_description_says_what_comes_back() {
        let text = include_str!("../../../docs/openapi.json");
        let document: Value = serde_json::from_str(text).unwrap();
        for (path, methods) in document["paths"].as_object().unwrap() {
            for (method, about) in methods.as_object().unwrap() {
                let said = about["summary"].as_str().unwrap_or_default();
                assert!(
                    said.len() > 10 && about["responses"]["200"].is_object(),
                    "{method} {path}"
                );
            }
        }
    }
}
