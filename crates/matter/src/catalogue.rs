//! The list of all liquids and gases: names, what each needs to be looked up, range and sources.
//!
//! Made from the same data that [`crate::liquid`] and [`crate::gas`] look up, so it cannot differ from them. The
//! range is the one in which every property that a substance must have is known.

use crate::correlation::{Correlation, Limit};
use crate::gas_data::GasData;
use crate::liquid_data::LiquidData;
use crate::{gas, liquid};

/// Liquid or gas.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A liquid, see [`crate::liquid`].
    Liquid,
    /// A gas, see [`crate::gas`].
    Gas,
}

/// One substance.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Name, lower case, words joined by hyphens.
    pub name: String,
    /// Other names that are understood.
    pub aliases: Vec<String>,
    /// What must be given, e.g. `temperature`; a property in it must be stated.
    pub needs: Vec<&'static str>,
    /// Range in words, SI units; empty where there is none.
    pub range: String,
    /// Sources, each once.
    pub sources: Vec<String>,
    /// Liquid or gas.
    pub kind: Kind,
}

/// All substances, liquids first.
///
/// ```
/// let names: Vec<String> = tremolet_matter::catalogue::entries().into_iter().map(|entry| entry.name).collect();
/// assert!(names.contains(&"water".to_string()));
/// ```
pub fn entries() -> Vec<Entry> {
    let mut entries: Vec<Entry> = liquid::all().iter().map(of_liquid).collect();
    entries.push(own());
    entries.extend(gas::all().iter().map(of_gas));
    entries.push(vacuum());
    entries
}

fn of_liquid(data: &LiquidData) -> Entry {
    let mut needs = vec!["temperature"];
    needs.extend(data.solute.map(|_| "mass fraction"));
    let all = data.correlations();
    Entry {
        name: data.name.clone(),
        aliases: data.aliases.clone(),
        needs,
        range: range(&all[..3]),
        sources: sources(&all),
        kind: Kind::Liquid,
    }
}

fn of_gas(data: &GasData) -> Entry {
    let all = [&data.density, &data.dynamic_viscosity, &data.sound_speed];
    let mut needs = vec!["temperature", "pressure"];
    needs.extend(data.humid.then_some("relative humidity"));
    Entry {
        name: data.name.into(),
        aliases: data.aliases.iter().map(|alias| (*alias).into()).collect(),
        needs,
        range: range(&all),
        sources: sources(&all),
        kind: Kind::Gas,
    }
}

fn own() -> Entry {
    Entry {
        name: liquid::OWN[0].into(),
        aliases: vec![liquid::OWN[1].into()],
        needs: vec!["density"],
        range: String::new(),
        sources: vec!["what is stated".into()],
        kind: Kind::Liquid,
    }
}

fn vacuum() -> Entry {
    Entry {
        name: gas::VACUUM.into(),
        aliases: Vec::new(),
        needs: Vec::new(),
        range: String::new(),
        sources: Vec::new(),
        kind: Kind::Gas,
    }
}

fn range(correlations: &[&Correlation]) -> String {
    let mut common: Vec<Limit> = Vec::new();
    for limit in correlations.iter().flat_map(|c| c.limits()) {
        match common.iter_mut().find(|known| known.input == limit.input) {
            Some(known) => {
                known.low = known.low.max(limit.low);
                known.high = known.high.min(limit.high);
            }
            None => common.push(*limit),
        }
    }
    let words = |l: &Limit| {
        format!("{} {} to {} {}", l.input, l.low, l.high, l.unit)
            .trim_end()
            .to_string()
    };
    common.iter().map(words).collect::<Vec<_>>().join(", ")
}

fn sources(correlations: &[&Correlation]) -> Vec<String> {
    let mut sources: Vec<String> = Vec::new();
    for correlation in correlations {
        if !sources.iter().any(|known| known == correlation.source()) {
            sources.push(correlation.source().into());
        }
    }
    sources
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(name: &str) -> Entry {
        entries()
            .into_iter()
            .find(|entry| entry.name == name)
            .expect("listed")
    }

    #[test]
    fn what_each_needs() {
        assert_eq!(entry("water").needs, ["temperature"]);
        assert_eq!(entry("saline").needs, ["temperature", "mass fraction"]);
        assert_eq!(
            entry("air").needs,
            ["temperature", "pressure", "relative humidity"]
        );
        assert_eq!(entry("own").needs, ["density"]);
        assert!(entry("vacuum").needs.is_empty());
    }

    #[test]
    fn the_range_is_common_to_all_properties() {
        assert_eq!(
            entry("glycerol-water").range,
            "temperature 288.15 to 303.15 K, mass fraction 0 to 1"
        );
        assert_eq!(
            entry("air").range,
            "temperature 273.15 to 313.15 K, pressure 60000 to 110000 Pa, relative humidity 0 to 1"
        );
    }

    #[test]
    fn each_source_once_and_memory_owned_up_to() {
        let water = entry("water").sources;
        assert_eq!(water.len(), 3, "{water:?}");
        for name in ["mercury", "silicone-oil-50", "glycerol-water"] {
            assert!(
                entry(name)
                    .sources
                    .iter()
                    .any(|source| source.contains("from memory")),
                "{name}"
            );
        }
    }

    #[test]
    fn every_substance_is_listed_once() {
        let entries = entries();
        let mut names: Vec<&str> = entries.iter().map(|entry| entry.name.as_str()).collect();
        assert_eq!(names.len(), 18);
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), 18);
    }

    #[test]
    fn the_narrowest_ends_are_common() {
        let line = |low, high| {
            Correlation::new(
                "density",
                "kg/m^3",
                "",
                vec![Limit::temperature(low, high)],
                |x| x[0],
            )
        };
        assert_eq!(
            range(&[&line(280.0, 300.0), &line(285.0, 295.0)]),
            "temperature 285 to 295 K"
        );
        assert_eq!(
            range(&[&line(285.0, 295.0), &line(280.0, 300.0)]),
            "temperature 285 to 295 K"
        );
    }
}
