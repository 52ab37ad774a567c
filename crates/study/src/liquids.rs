//! `liquids`: what is known of liquids and gases, with values, uncertainties and sources at a temperature.

use std::fmt::Write;

use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::parse::{QuantityError, parse};
use tremolet_matter::quantity::print::print;
use tremolet_matter::uncertain::Uncertain;
use tremolet_matter::{catalogue, gas, liquid, property::Property};
use tremolet_record::experiment::faults::{Fault, Faults};

use crate::error::StudyError;

/// One property as it is printed.
struct Row {
    name: &'static str,
    unit: &'static str,
    dimension: Dimension,
    property: Property,
}

/// The catalogue, or the properties of one substance, as text or JSON.
///
/// # Errors
/// A temperature, mass fraction or pressure that does not parse; an unknown name; a value out of range.
pub fn said(
    name: Option<&str>,
    temperature: &str,
    mass_fraction: Option<&str>,
    pressure: &str,
    json: bool,
) -> Result<String, StudyError> {
    let Some(name) = name else {
        return Ok(if json { catalogue_json() } else { catalogue_text() });
    };
    let temperature = stated("--temperature", temperature, Dimension::Temperature)?;
    let fraction = mass_fraction
        .map(|text| stated("--mass-fraction", text, Dimension::Fraction))
        .transpose()?;
    let is_gas = catalogue::entries().iter().any(|entry| {
        entry.kind == catalogue::Kind::Gas
            && (entry.name == name || entry.aliases.iter().any(|alias| alias == name))
    });
    let rows = if is_gas {
        let pressure = stated("--pressure", pressure, Dimension::Pressure)?;
        of_gas(name, temperature, pressure)?
    } else {
        of_liquid(name, temperature, fraction)?
    };
    Ok(if json {
        rows_json(name, &rows)
    } else {
        rows_text(name, &rows)
    })
}

/// Names of the liquids that are known by name; those that a file states itself are not among them.
pub fn named() -> Vec<String> {
    let entries = catalogue::entries().into_iter();
    let ours = |entry: &catalogue::Entry| {
        entry.kind == catalogue::Kind::Liquid && !liquid::OWN.contains(&entry.name.as_str())
    };
    entries.filter(ours).map(|entry| entry.name).collect()
}

fn stated(key: &str, text: &str, dimension: Dimension) -> Result<Uncertain, StudyError> {
    let told = |error: QuantityError| Faults {
        faults: vec![Fault {
            file: "(command line)".into(),
            line: 0,
            column: 0,
            key: key.into(),
            found: error.to_string(),
            expected: dimension.example().into(),
        }],
    };
    Ok(parse(text, dimension)
        .map_err(told)?
        .uncertain(key, "stated on the command line"))
}

fn of_liquid(
    name: &str,
    temperature: Uncertain,
    mass_fraction: Option<Uncertain>,
) -> Result<Vec<Row>, StudyError> {
    let found = liquid::properties(&liquid::Request {
        name: name.into(),
        mass_fraction,
        temperature,
        stated: liquid::Stated::default(),
    })?;
    let rows = [
        ("density", "kg/m^3", Dimension::Density, Some(found.density)),
        (
            "surface tension",
            "mN/m",
            Dimension::SurfaceTension,
            found.surface_tension,
        ),
        (
            "dynamic viscosity",
            "mPa s",
            Dimension::DynamicViscosity,
            found.dynamic_viscosity,
        ),
        ("sound speed", "m/s", Dimension::Speed, found.sound_speed),
        (
            "refractive index",
            "1",
            Dimension::Fraction,
            found.refractive_index,
        ),
    ];
    Ok(kept(rows))
}

fn of_gas(name: &str, temperature: Uncertain, pressure: Uncertain) -> Result<Vec<Row>, StudyError> {
    let found = gas::properties(&gas::Request {
        name: name.into(),
        temperature,
        pressure,
        relative_humidity: None,
    })?;
    let rows = [
        ("density", "kg/m^3", Dimension::Density, Some(found.density)),
        (
            "dynamic viscosity",
            "uPa s",
            Dimension::DynamicViscosity,
            Some(found.dynamic_viscosity),
        ),
        ("sound speed", "m/s", Dimension::Speed, Some(found.sound_speed)),
    ];
    Ok(kept(rows))
}

fn kept(
    rows: impl IntoIterator<Item = (&'static str, &'static str, Dimension, Option<Property>)>,
) -> Vec<Row> {
    let one = |(name, unit, dimension, property): (_, _, _, Option<Property>)| {
        Some(Row {
            name,
            unit,
            dimension,
            property: property?,
        })
    };
    rows.into_iter().filter_map(one).collect()
}

fn rows_text(name: &str, rows: &[Row]) -> String {
    let mut text = name.to_string();
    for row in rows {
        let value = &row.property.value;
        let u = Some(value.standard_uncertainty()).filter(|u| *u > 0.0);
        let said =
            print(value.value(), u, row.unit, row.dimension).unwrap_or_else(|_| value.value().to_string());
        let _ = write!(text, "\n  {:<18} {said:<32} {}", row.name, row.property.source);
    }
    text
}

fn rows_json(name: &str, rows: &[Row]) -> String {
    let one = |row: &Row| {
        let value = &row.property.value;
        format!(
            "    {{\"quantity\": {:?}, \"value\": {:e}, \"standard_uncertainty\": {:e}, \"unit\": \"SI\", \"source\": {:?}}}",
            row.name.replace(' ', "_"),
            value.value(),
            value.standard_uncertainty(),
            row.property.source
        )
    };
    let rows: Vec<String> = rows.iter().map(one).collect();
    format!(
        "{{\n  \"name\": {name:?},\n  \"properties\": [\n{}\n  ]\n}}",
        rows.join(",\n")
    )
}

fn catalogue_text() -> String {
    let mut text = String::from("liquids and gases (tremolet liquids NAME shows values):");
    for entry in catalogue::entries() {
        let needs = if entry.needs.is_empty() {
            String::new()
        } else {
            format!("; needs {}", entry.needs.join(", "))
        };
        let _ = write!(text, "\n  {:<20} {}{needs}", entry.name, entry.range);
    }
    text
}

fn catalogue_json() -> String {
    let names: Vec<String> = catalogue::entries()
        .iter()
        .map(|e| format!("{:?}", e.name))
        .collect();
    format!("[{}]", names.join(", "))
}
