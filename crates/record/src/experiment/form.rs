//! The text of an experiment file as fields of a form: what stands there, and one value changed, added or taken away with every
//! other byte left as it is.
//!
//! A key is written with its table, `camera.scale`; a key of the top level stands alone. Values are JSON: texts, numbers, flags and
//! arrays of them. What a value means is found when the text is read as an experiment; here it is only a text.

use std::ops::Range;

use serde::Serialize;
use serde_json::Value;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

/// One value of the file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Field {
    /// Key with its table, e.g. `camera.scale`; `clip.mask.0.corners` in a list of tables.
    pub key: String,
    /// What stands there.
    pub value: Value,
    /// Line, from 1.
    pub line: usize,
}

/// One change to the text.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// `key = value`, in place of what stands there or as a new line of its table.
    Set(String, Value),
    /// The line of this key goes; the whole table where the key is that of a heading.
    Remove(String),
    /// A table is added at the end of a list of tables, with its lines.
    Add(String, Vec<(String, Value)>),
    /// The table of this place in a list of tables goes.
    Drop(String, usize),
}

/// Every value of the text in its order; nothing for a text that is no TOML.
pub fn fields(text: &str) -> Vec<Field> {
    let mut found = Vec::new();
    if let Ok(document) = DeTable::parse(text) {
        of_table(text, "", document.get_ref(), &mut found);
    }
    found.sort_by_key(|field: &Field| field.line);
    found
}

fn of_table(text: &str, prefix: &str, table: &DeTable<'_>, found: &mut Vec<Field>) {
    for (key, value) in table.iter() {
        of_value(text, &format!("{prefix}{}", key.get_ref()), value, found);
    }
}

fn of_value(text: &str, key: &str, value: &Spanned<DeValue<'_>>, found: &mut Vec<Field>) {
    match value.get_ref() {
        DeValue::Table(inner) => of_table(text, &format!("{key}."), inner, found),
        DeValue::Array(list) if list.iter().any(|one| matches!(one.get_ref(), DeValue::Table(_))) => {
            for (place, one) in list.iter().enumerate() {
                of_value(text, &format!("{key}.{place}"), one, found);
            }
        }
        plain => found.push(Field {
            key: key.to_owned(),
            value: json(plain),
            line: text[..value.span().start].matches('\n').count() + 1,
        }),
    }
}

fn json(value: &DeValue<'_>) -> Value {
    let list = |list: &DeArray<'_>| list.iter().map(|one| json(one.get_ref())).collect();
    match value {
        DeValue::String(text) => Value::from(text.to_string()),
        DeValue::Boolean(flag) => Value::from(*flag),
        DeValue::Integer(whole) => {
            let read = i64::from_str_radix(whole.as_str(), whole.radix());
            read.map_or(Value::Null, Value::from)
        }
        DeValue::Float(real) => real.as_str().parse::<f64>().map_or(Value::Null, Value::from),
        DeValue::Array(inner) => Value::Array(list(inner)),
        DeValue::Datetime(when) => Value::from(when.to_string()),
        DeValue::Table(_) => Value::Null,
    }
}

/// The text after a change; `None` when the text is no TOML before or after it, or the change has no place.
///
/// ```
/// use tremolet_record::experiment::form::{Change, changed};
/// let text = "kind = \"release\"\n[body] # size\ndiameter = \"24 mm\" # as drawn\n";
/// let set = Change::Set("body.diameter".into(), "30 mm".into());
/// assert_eq!(changed(text, &set).unwrap(), text.replace("24", "30"));
/// ```
pub fn changed(text: &str, change: &Change) -> Option<String> {
    DeTable::parse(text).ok()?;
    let new = match change {
        Change::Set(key, value) => set(text, key, &literal(value)?)?,
        Change::Remove(key) => remove(text, key),
        Change::Add(table, lines) => add(text, table, lines)?,
        Change::Drop(table, place) => drop_table(text, table, *place)?,
    };
    DeTable::parse(&new).ok()?;
    Some(new)
}

fn literal(value: &Value) -> Option<String> {
    Some(match value {
        Value::String(text) => toml::Value::String(text.clone()).to_string(),
        Value::Number(number) => number.to_string(),
        Value::Bool(flag) => flag.to_string(),
        Value::Array(list) => {
            let parts: Option<Vec<String>> = list.iter().map(literal).collect();
            format!("[{}]", parts?.join(", "))
        }
        Value::Null | Value::Object(_) => return None,
    })
}

/// Whether a key can stand bare.
fn bare(key: &str) -> bool {
    let good = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
    !key.is_empty()
        && key
            .split('.')
            .all(|part| !part.is_empty() && part.chars().all(good))
}

/// Where the value of a key stands.
fn place(text: &str, key: &str) -> Option<Range<usize>> {
    let document = DeTable::parse(text).ok()?;
    let mut table = document.get_ref();
    let mut parts = key.split('.').peekable();
    loop {
        let value = table.get(parts.next()?)?;
        if parts.peek().is_none() {
            return Some(value.span());
        }
        let DeValue::Table(inner) = value.get_ref() else {
            return None;
        };
        table = inner;
    }
}

fn set(text: &str, key: &str, literal: &str) -> Option<String> {
    if !bare(key) {
        return None;
    }
    let mut new = text.to_owned();
    if let Some(there) = place(text, key) {
        new.replace_range(there, literal);
        return Some(new);
    }
    let (table, name) = key.rsplit_once('.').unwrap_or(("", key));
    let line = format!("{name} = {literal}\n");
    let at = end_of_table(text, table);
    let Some(at) = at else {
        let gap = if text.is_empty() || text.ends_with("\n\n") {
            ""
        } else {
            "\n"
        };
        return Some(format!("{}{gap}[{table}]\n{line}", ended(text)));
    };
    let mut new = ended(text);
    new.insert_str(at, &line);
    Some(new)
}

fn ended(text: &str) -> String {
    let missing = !text.is_empty() && !text.ends_with('\n');
    format!("{text}{}", if missing { "\n" } else { "" })
}

/// Byte after the last line of a table that says something; `None` when the table has no heading. The empty name is the top level.
fn end_of_table(text: &str, table: &str) -> Option<usize> {
    let text = ended(text);
    let mut inside = table.is_empty();
    let mut end = inside.then_some(0);
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        at += line.len();
        if let Some(name) = heads(line) {
            inside = name == table && !line.trim_start().starts_with("[[");
        }
        if inside && !line.trim().is_empty() {
            end = Some(at);
        }
    }
    end
}

/// Name of the table that a line begins.
fn heads(line: &str) -> Option<&str> {
    let inside = line.trim_start().strip_prefix('[')?;
    let inside = inside.strip_prefix('[').unwrap_or(inside);
    inside
        .split_once(']')
        .map(|(name, _)| name.trim())
        .filter(|name| bare(name))
}

fn remove(text: &str, key: &str) -> String {
    if let Some(without) = without_table(text, key) {
        return without;
    }
    let Some(there) = place(text, key) else {
        return text.to_owned();
    };
    let start = text[..there.start].rfind('\n').map_or(0, |k| k + 1);
    let end = text[there.end..]
        .find('\n')
        .map_or(text.len(), |k| there.end + k + 1);
    let mut new = text.to_owned();
    new.replace_range(start..end, "");
    new
}

/// The text without the table that has this heading; `None` when none has.
fn without_table(text: &str, table: &str) -> Option<String> {
    let mut new = String::new();
    let (mut inside, mut gone) = (false, false);
    for line in text.split_inclusive('\n') {
        if let Some(name) = heads(line) {
            inside = name == table && !line.trim_start().starts_with("[[");
            gone |= inside;
        }
        if !inside {
            new.push_str(line);
        }
    }
    gone.then(|| format!("{}\n", new.trim_end()))
}

fn add(text: &str, table: &str, lines: &[(String, Value)]) -> Option<String> {
    if !bare(table) || !lines.iter().all(|(key, _)| bare(key)) {
        return None;
    }
    let mut new = ended(text);
    new.push_str(&format!("\n[[{table}]]\n"));
    for (key, value) in lines {
        new.push_str(&format!("{key} = {}\n", literal(value)?));
    }
    Some(new)
}

fn drop_table(text: &str, table: &str, place: usize) -> Option<String> {
    let mut new = String::new();
    let (mut seen, mut inside, mut dropped) = (0, false, false);
    for line in text.split_inclusive('\n') {
        if let Some(name) = heads(line) {
            let ours = name == table && line.trim_start().starts_with("[[");
            inside = ours && seen == place;
            dropped |= inside;
            seen += usize::from(ours);
        }
        if !inside {
            new.push_str(line);
        }
    }
    dropped.then(|| format!("{}\n", new.trim_end()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    const TEXT: &str = "# A run\nformat = 1\nkind = \"release\"\n\n[body]\n# diameter = \"1 mm\"\ndiameter = \"24 mm\" # as drawn\n\n\
                        [camera]\nscale = \"0.05 mm/px\"\n\n[camera.reference]\nfrom = [1, 2.5]\n\n[[clip.mask]]\ncorners = [[0, 0], [9, 0], [9, 9]]\n";

    fn value(text: &str, key: &str) -> Option<Value> {
        fields(text).into_iter().find(|f| f.key == key).map(|f| f.value)
    }

    #[test]
    fn every_value_is_found_with_its_line() {
        let all = fields(TEXT);
        let diameter = all.iter().find(|f| f.key == "body.diameter").unwrap();
        assert_eq!((diameter.line, &diameter.value), (7, &json!("24 mm")));
        assert_eq!(value(TEXT, "camera.reference.from"), Some(json!([1, 2.5])));
        assert_eq!(
            value(TEXT, "clip.mask.0.corners"),
            Some(json!([[0, 0], [9, 0], [9, 9]]))
        );
        assert!(fields("= nothing").is_empty());
    }

    #[test]
    fn one_value_changes_and_every_other_byte_stays() {
        let set = |key: &str, value: Value| changed(TEXT, &Change::Set(key.into(), value)).unwrap();
        assert_eq!(
            set("body.diameter", json!("30 mm")),
            TEXT.replace("24 mm", "30 mm")
        );
        let new = set("body.mass", json!("2 g"));
        assert_eq!(new, TEXT.replace("# as drawn\n", "# as drawn\nmass = \"2 g\"\n"));
        let new = set("title", json!("say \"so\""));
        assert_eq!(value(&new, "title"), Some(json!("say \"so\"")));
        assert!(new.starts_with("# A run\nformat = 1\nkind = \"release\"\ntitle"));
        assert_eq!(
            value(&set("gas.name", json!("air")), "gas.name"),
            Some(json!("air"))
        );
        let new = set("camera.capture_rate", json!("240 fps"));
        assert!(
            new.contains("mm/px\"\ncapture_rate = \"240 fps\"\n\n[camera.reference]"),
            "{new}"
        );
    }

    #[test]
    fn a_line_goes_and_lists_of_tables_grow_and_shrink() {
        let new = changed(TEXT, &Change::Remove("body.diameter".into())).unwrap();
        assert_eq!(new, TEXT.replace("diameter = \"24 mm\" # as drawn\n", ""));
        let mask = Change::Add("clip.mask".into(), vec![("what".into(), json!("wire"))]);
        let two = changed(TEXT, &mask).unwrap();
        assert_eq!(value(&two, "clip.mask.1.what"), Some(json!("wire")));
        let one = changed(&two, &Change::Drop("clip.mask".into(), 0)).unwrap();
        assert_eq!(value(&one, "clip.mask.0.what"), Some(json!("wire")));
        assert_eq!(changed(&one, &Change::Drop("clip.mask".into(), 1)), None);
    }

    #[test]
    fn a_table_goes_with_its_heading_and_no_other() {
        let text = "kind = \"release\"\n\n[camera]\nscale = \"1 mm/px\"\n\n[camera.clock]\nfirst_frame = 1 # seen\n\n[clip]\npath = \"a\"\n";
        let without = changed(text, &Change::Remove("camera.clock".into())).unwrap();
        assert_eq!(
            without,
            text.replace("[camera.clock]\nfirst_frame = 1 # seen\n\n", "")
        );
        assert_eq!(
            changed(text, &Change::Remove("camera.lens".into())).unwrap(),
            text
        );
    }

    #[test]
    fn what_would_break_the_text_is_refused() {
        for change in [
            Change::Set("body.dia meter".into(), json!("1 mm")),
            Change::Set("body]\nx".into(), json!("1 mm")),
            Change::Set("body.diameter.x".into(), json!("1 mm")),
            Change::Set("body.mass".into(), json!({ "a": 1 })),
        ] {
            assert_eq!(changed(TEXT, &change), None, "{change:?}");
        }
        assert_eq!(changed("= nothing", &Change::Remove("kind".into())), None);
    }
}
