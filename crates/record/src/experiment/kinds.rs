//! What belongs to one kind of run: `[puff]`, `[column]`, `[shell]` and `[fizz]`, as planned.
//!
//! Everything is optional here; what a plan needs and does not find it says. Numbers of things are fractions (`"400"`).
//!
//! | key | meaning | unit |
//! |---|---|---|
//! | `puff.volume`, `duration`, `nozzle`, `distance` | gas given off, how long, diameter of the opening, from it to the surface | m^3, s, m, m |
//! | `puff.free_from` | first frame in which the gas no longer presses | 1 |
//! | `column.length`, `diameter`, `disturbance` | of the column as drawn, half height of the waves on it at first | m |
//! | `shell.bubble`, `droplet` | diameters of the bubble and of the droplet in it | m |
//! | `shell.speed`, `offset` | of the droplet, distance of its line of flight from the middle of the bubble | m/s, m |
//! | `shell.aspect_ratio`, `bubble_height` | length over diameter of the outer surface when it is let go; middle of the bubble above that of the whole | 1, m |
//! | `shell.restitution_across`, `restitution_along` | shares of the speed that a bounce at the wall keeps | 1 |
//! | `fizz.bicarbonate`, `acid`, `acid_kind` | reagents | kg |
//! | `fizz.dissolved`, `bubbles` | carbon dioxide given as gas dissolved, number of bubbles that are born | mol, 1 |
//! | `fizz.shear`, `container` | shear that stirs the drop, room of a closed container | 1/s, m^3 |
//!
//! It does not think anything through.

use crate::experiment::clip::ASPECT;
use crate::experiment::section::{Bound, Section};
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::Uncertain;

/// Keys of `[puff]`.
pub const PUFF: &[&str] = &["volume", "duration", "nozzle", "distance", "free_from"];
/// Keys of `[column]`.
pub const COLUMN: &[&str] = &["length", "diameter", "disturbance"];
/// Keys of `[shell]`.
pub const SHELL: &[&str] = &[
    "bubble",
    "droplet",
    "speed",
    "offset",
    "restitution_across",
    "restitution_along",
    "aspect_ratio",
    "bubble_height",
];
/// Keys of `[fizz]`.
pub const FIZZ: &[&str] = &[
    "bicarbonate",
    "acid",
    "acid_kind",
    "dissolved",
    "bubbles",
    "shear",
    "container",
];

const SHARE: Bound = Bound::Between(0.0, 1.0, "a share from 0 to 1");

/// A puff of gas against one side.
#[derive(Debug, Clone, PartialEq)]
pub struct Puff {
    /// Volume of gas given off, m^3.
    pub volume: Option<Uncertain>,
    /// How long, s.
    pub duration: Option<Uncertain>,
    /// Diameter of the opening, m.
    pub nozzle: Option<Uncertain>,
    /// From the opening to the surface of the drop, m.
    pub distance: Option<Uncertain>,
    /// The first frame in which the gas no longer presses, as the experimenter saw it.
    pub free_from: Option<u64>,
}

impl Puff {
    /// Reads `[puff]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        let mut positive = |key, dimension| table.quantity(key, dimension, Bound::Positive);
        let [volume, duration, nozzle, distance] = [
            ("volume", Dimension::Volume),
            ("duration", Dimension::Time),
            ("nozzle", Dimension::Length),
            ("distance", Dimension::Length),
        ]
        .map(|(key, dimension)| positive(key, dimension));
        Self {
            volume,
            duration,
            nozzle,
            distance,
            free_from: table.frame("free_from"),
        }
    }
}

/// A column drawn out of the liquid.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its length, m.
    pub length: Option<Uncertain>,
    /// Its diameter, m.
    pub diameter: Option<Uncertain>,
    /// Half height of the waves on it at first, m.
    pub disturbance: Option<Uncertain>,
}

impl Column {
    /// Reads `[column]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        let mut positive = |key| table.quantity(key, Dimension::Length, Bound::Positive);
        Self {
            length: positive("length"),
            diameter: positive("diameter"),
            disturbance: positive("disturbance"),
        }
    }
}

/// A drop with a bubble in its middle, and a droplet in the bubble.
#[derive(Debug, Clone, PartialEq)]
pub struct Shell {
    /// Diameter of the bubble, m.
    pub bubble: Option<Uncertain>,
    /// Diameter of the droplet in it, m.
    pub droplet: Option<Uncertain>,
    /// Speed of the droplet, m/s.
    pub speed: Option<Uncertain>,
    /// Distance of its line of flight from the middle of the bubble, m.
    pub offset: Option<Uncertain>,
    /// Share of the speed across the wall that a bounce keeps.
    pub restitution_across: Option<Uncertain>,
    /// Share of the speed along the wall that a bounce keeps.
    pub restitution_along: Option<Uncertain>,
    /// Length along the axis over diameter across it of the outer surface when it is let go.
    pub aspect_ratio: Option<Uncertain>,
    /// Middle of the bubble above that of the whole, along the axis, m.
    pub bubble_height: Option<Uncertain>,
}

impl Shell {
    /// Reads `[shell]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        Self {
            bubble: table.quantity("bubble", Dimension::Length, Bound::Positive),
            droplet: table.quantity("droplet", Dimension::Length, Bound::Positive),
            speed: table.quantity("speed", Dimension::Speed, Bound::Positive),
            offset: table.quantity("offset", Dimension::Length, Bound::NotNegative),
            restitution_across: table.quantity("restitution_across", Dimension::Fraction, SHARE),
            restitution_along: table.quantity("restitution_along", Dimension::Fraction, SHARE),
            aspect_ratio: table.quantity("aspect_ratio", Dimension::Fraction, ASPECT),
            bubble_height: table.quantity("bubble_height", Dimension::Length, Bound::NotNegative),
        }
    }
}

/// The acid of a fizz.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say what they are")]
pub enum AcidKind {
    Citric,
    CitricMonohydrate,
}

const ACIDS: &[(&str, AcidKind)] = &[
    ("citric", AcidKind::Citric),
    ("citric-monohydrate", AcidKind::CitricMonohydrate),
];

/// Gas set free in the drop.
#[derive(Debug, Clone, PartialEq)]
pub struct Fizz {
    /// Sodium bicarbonate, kg.
    pub bicarbonate: Option<Uncertain>,
    /// Acid, kg.
    pub acid: Option<Uncertain>,
    /// Which acid; citric without water unless stated.
    pub acid_kind: Option<AcidKind>,
    /// Carbon dioxide that is dissolved at first, in place of reagents, mol.
    pub dissolved: Option<Uncertain>,
    /// Number of bubbles that are born.
    pub bubbles: Option<Uncertain>,
    /// Shear that stirs the drop, 1/s.
    pub shear: Option<Uncertain>,
    /// Room of the closed container around the drop, m^3.
    pub container: Option<Uncertain>,
}

impl Fizz {
    /// Reads `[fizz]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        if table.has("dissolved") && (table.has("bicarbonate") || table.has("acid")) {
            table.fault(
                "dissolved",
                "a second statement of the gas",
                "either `dissolved` or `bicarbonate` and `acid`",
            );
        }
        let most = Bound::Between(1.0, 1e9, "a number of bubbles from 1 to 1e9");
        Self {
            bicarbonate: table.quantity("bicarbonate", Dimension::Mass, Bound::Positive),
            acid: table.quantity("acid", Dimension::Mass, Bound::Positive),
            acid_kind: table.word("acid_kind", ACIDS),
            dissolved: table.quantity("dissolved", Dimension::Amount, Bound::Positive),
            bubbles: table.quantity("bubbles", Dimension::Fraction, most),
            shear: table.quantity("shear", Dimension::Rate, Bound::Positive),
            container: table.quantity("container", Dimension::Volume, Bound::Positive),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::experiment::file::Experiment;

    fn read(kind: &str, table: &str) -> Result<Experiment, String> {
        let text = format!("format = 1\nkind = \"{kind}\"\n[{kind}]\n{table}\n");
        Experiment::parse(&text, "plan.toml").map_err(|faults| faults.to_string())
    }

    #[test]
    fn each_kind_reads_its_own_table() {
        let puff = read("puff", "volume = \"6 mL\"\nduration = \"50 ms\"\nfree_from = 12")
            .unwrap()
            .puff
            .unwrap();
        assert!((puff.volume.unwrap().value() - 6e-6).abs() < 1e-18 && puff.nozzle.is_none());
        assert_eq!(puff.free_from, Some(12));
        let column = read("column", "length = \"60 mm\"").unwrap().column.unwrap();
        assert!((column.length.unwrap().value() - 0.06).abs() < 1e-15);
        let shell = read("shell", "bubble = \"20 mm\"\nrestitution_across = \"0.8\"").unwrap();
        assert!((shell.shell.unwrap().restitution_across.unwrap().value() - 0.8).abs() < 1e-15);
        let fizz = read("fizz", "bubbles = \"400\"\nacid_kind = \"citric-monohydrate\"").unwrap();
        assert!((fizz.fizz.unwrap().bubbles.unwrap().value() - 400.0).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_is_refused_with_its_place() {
        let found = read("shell", "restitution_across = \"1.2\"").unwrap_err();
        assert!(
            found.contains("restitution_across") && found.contains("from 0 to 1"),
            "{found}"
        );
        let found = read("fizz", "dissolved = \"1 mmol\"\nacid = \"1 g\"").unwrap_err();
        assert!(found.contains("either `dissolved`"), "{found}");
        let found = read("fizz", "bubbles = \"0\"").unwrap_err();
        assert!(found.contains("a number of bubbles"), "{found}");
        let text = "format = 1\nkind = \"puff\"\n[column]\nlength = \"1 mm\"\n";
        let found = Experiment::parse(text, "plan.toml").unwrap_err().to_string();
        assert!(found.contains("a table of another kind"), "{found}");
    }
}
