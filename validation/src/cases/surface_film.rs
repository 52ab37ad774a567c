//! A drop of water with a film on its surface, as water in a cabin has: surface tension, no viscosity.

use tremolet_clip::painted::recipe::Recipe;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::cases::exact_roots::{Medium, film};
use crate::ringing::Ringing;

/// See the module.
pub const CASE: Case = Case {
    name: "surface_film",
    question: "Water with a film on its surface",
    method: "A 16 mm drop of water in air, painted back-lit with the exact roots of a film that does not stretch: damping is about twice that \
             of clean water. The program must give no viscosity, say why, and give a surface tension whose uncertainty holds the \
             shift that the film gives the frequencies.",
    version: 1,
    run,
};

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let mut drop = Ringing::in_air(0.008, 998.2, 0.0727, 1.002e-3, 8.0e-5, 120.0);
    drop.film = true;
    let found = film(
        bench,
        &drop,
        bench.pick(250, 500),
        Recipe::silhouette,
        Medium::Stills,
    )?;
    let clip = "16 mm water";
    let claimed: Vec<&str> = ["kinematic_viscosity", "dynamic_viscosity"]
        .into_iter()
        .filter(|quantity| found.estimate(quantity).is_some())
        .collect();
    outcome.must(
        clip,
        "viscosity",
        format!("{} {}", claimed.len(), claimed.join(" ")),
        "none",
        claimed.is_empty(),
    );
    let cautions = found.cautions();
    let said = cautions.contains("modes_do_not_share_viscosity");
    outcome.must(clip, "cautions", cautions, "modes_do_not_share_viscosity", said);
    let tension = found.estimate("surface_tension");
    let off = tension.map(|e| e.value / drop.pair.tension - 1.0);
    outcome.within(clip, "surface tension", off.map(|off| 100.0 * off), 2.0, " %");
    let deviation = tension.map(|e| (e.value - drop.pair.tension) / e.standard_uncertainty);
    outcome.within(clip, "surface tension over its uncertainty", deviation, 3.0, "");
    Ok(outcome)
}
