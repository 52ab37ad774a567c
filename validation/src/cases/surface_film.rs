//! Drops of water with a film on their surface, as water in a cabin has: surface tension, no viscosity.

use tremolet_clip::painted::recipe::Recipe;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::cases::exact_roots::{Medium, film};
use crate::ringing::Ringing;

/// See the module.
pub const CASE: Case = Case {
    name: "surface_film",
    question: "Water with a film on its surface",
    method: "Drops of water of 16 and 10 mm in air, painted back-lit with the exact roots of a film that does not stretch: damping is about twice that \
             of clean water. As PNG and as H.264 with quantisers 10 and 22, each with noise of several seeds. The program must give no viscosity, say why, and give a \
             surface tension whose uncertainty holds the shift that the film gives the frequencies.",
    version: 2,
    run,
};

/// Quantisers of a common camera, and of a coarse one.
const CODED: [u8; 2] = [10, 22];

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let [fine, coarse] = CODED.map(Medium::Film);
    let few = [(0.008, Medium::Stills, 11), (0.008, coarse, 12)];
    let many = [0.008, 0.005]
        .into_iter()
        .flat_map(|radius| [Medium::Stills, fine, coarse].map(|medium| (radius, medium)))
        .flat_map(|(radius, medium)| [11, 12, 13].map(|seed| (radius, medium, seed)));
    let many: Vec<(f64, Medium, u64)> = many.collect();
    for &(radius, medium, seed) in bench.pick(&few[..], &many[..]) {
        one(bench, &mut outcome, radius, (medium, seed))?;
    }
    Ok(outcome)
}

fn one(
    bench: &Bench,
    outcome: &mut Outcome,
    radius: f64,
    (medium, seed): (Medium, u64),
) -> Result<(), Failure> {
    // A hundred pixels of radius, some 34 frames a swing of degree 2.
    let rate = 120.0 * (0.008 / radius).powf(1.5);
    let mut drop = Ringing::in_air(
        radius,
        998.2,
        0.0727,
        1.002e-3,
        0.01 * radius,
        (100.0 * rate).round() / 100.0,
    );
    drop.film = true;
    let found = film(
        bench,
        &drop,
        bench.pick(250, 500),
        Recipe::silhouette,
        (medium, seed),
    )?;
    let kind = match medium {
        Medium::Stills => "PNG".to_string(),
        Medium::Film(quantiser) => format!("MP4, quantiser {quantiser}"),
    };
    let clip = &format!("{:.0} mm water, {kind}, seed {seed}", 2e3 * radius);
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
    Ok(())
}
