//! The usual cautions for a kind of run, a liquid and a place.
//!
//! They are no safety approval: the facility's or vehicle's safety review, local rules and licensed practice decide. Common practice, no published source.

use tremolet_record::experiment::clip::Support;
use tremolet_record::experiment::file::Kind;
use tremolet_record::experiment::material::Place;
use tremolet_record::findings::Caution;

use crate::given::Given;

/// What this sheet is not.
pub const NO_APPROVAL: &str = "This sheet is no safety approval. The safety review of the facility or vehicle, local rules and licensed practice decide what may be done.";

/// The cautions of a run.
pub fn cautions(given: &Given<'_>) -> Vec<Caution> {
    let mut found = vec![say("no_safety_approval", NO_APPROVAL)];
    found.push(say(
        "free_liquid",
        "Free liquid can reach eyes, lungs, electronics and air ducts: protect eyes, keep absorbent towels and a way to catch the body at hand, switch off or cover what must stay dry, and stop fans only as the \
         facility allows.",
    ));
    found.extend(of_kind(given));
    found.extend(of_liquid(&given.materials.liquid.name));
    found.extend(given.place.and_then(of_place));
    found
}

fn of_kind(given: &Given<'_>) -> Vec<Caution> {
    let support = given
        .experiment
        .release
        .as_ref()
        .and_then(|release| release.support);
    match given.experiment.kind {
        Kind::Release if support.is_some_and(|support| support != Support::Skin) => vec![say(
            "support_ends",
            "Loops, needles and cups have sharp or hard ends: draw them away from faces, cap them at once, and expect drops that stay on them to be flung off.",
        )],
        Kind::Release => vec![say(
            "skin_fragments",
            "A skin that is pierced snaps back and leaves fragments; keep the needle capped until the moment and away from faces, and collect every piece.",
        )],
        Kind::Puff => vec![say(
            "gas_under_pressure",
            "A puff comes from gas under pressure: limit pressure and volume of the source, point it away from people, and expect spray behind the drop.",
        )],
        Kind::Column => vec![say(
            "many_droplets",
            "A column leaves many droplets that fly on with their speed: know where they go before drawing it, and have towels there.",
        )],
        Kind::Shell => vec![say(
            "burst",
            "A bubble that meets the surface bursts and throws fine spray; keep faces away from a thin spot, and cap needles.",
        )],
        Kind::Fizz => vec![
            say(
                "pressure_in_container",
                "Reagents that give gas never go into a container that is closed and cannot take the pressure; the rise is in the table of this sheet.",
            ),
            say(
                "carbon_dioxide",
                "Carbon dioxide does not rise or sink away in weightlessness: without moving air it stays where it is set free. Keep the cabin's air moving once the run is over, and keep faces away from the drop.",
            ),
            say(
                "reagents",
                "Citric acid and bicarbonate irritate eyes; weigh and dissolve them where that is allowed, label every syringe, and never mix them in a syringe.",
            ),
        ],
    }
}

fn of_liquid(name: &str) -> Vec<Caution> {
    if name.contains("mercury") {
        return vec![say(
            "mercury",
            "Mercury is poisonous, its vapour too, and attacks aluminium: only in a sealed cell that the facility has approved.",
        )];
    }
    if name.contains("ethanol") {
        return vec![say(
            "flammable",
            "Ethanol burns and its vapour with air can ignite: no flame, no spark, little of it, and only where the facility allows it.",
        )];
    }
    if name.contains("silicone") {
        return vec![say(
            "creeping_oil",
            "Silicone oil creeps over surfaces, spoils optics and contacts, and makes handles slippery: contain it and wipe with the solvent that the facility allows.",
        )];
    }
    if name.contains("glycerol") {
        return vec![say(
            "sticky",
            "Glycerol leaves a sticky film that takes up water: wipe with damp towels, then dry.",
        )];
    }
    if name.contains("saline") || name.contains("sodium") {
        return vec![say(
            "conducting",
            "Salt water conducts and corrodes: keep it off contacts and rinse what it touched.",
        )];
    }
    Vec::new()
}

fn of_place(place: Place) -> Option<Caution> {
    match place {
        Place::ParabolicFlight => Some(say(
            "end_of_parabola",
            "At the end of the parabola everything falls: catch the liquid before the pull-out is called, secure all loose parts, follow the crew.",
        )),
        Place::DropTower => Some(say(
            "impact",
            "The capsule is braked hard: liquid, glass and needles must be contained for the deceleration.",
        )),
        Place::SoundingRocket => Some(say(
            "unattended",
            "Nobody can intervene: leaks must be contained for all loads of flight and landing.",
        )),
        Place::Orbit => Some(say(
            "cabin_air",
            "The cabin's air moves all that floats towards the inlets of its fans: check them after each run.",
        )),
        Place::Levitator => Some(say(
            "field",
            "The field of a levitator (sound, voltage, current) has hazards of its own; its operator's rules apply.",
        )),
        Place::Ground => None,
    }
}

fn say(code: &str, text: &str) -> Caution {
    Caution {
        code: code.into(),
        text: text.into(),
        frames: None,
    }
}
