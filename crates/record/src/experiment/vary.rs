//! One key of an experiment's text given another value, the rest left as it stands, comments too.
//!
//! The key is written with its table, `body.diameter`. A table that is not there is added at the end. What is wrong with the new value is found when the text is read.

/// The text with `key = "value"` in place of what stands there.
///
/// ```
/// use tremolet_record::experiment::vary::varied;
/// let text = "kind = \"release\"\n[body] # size\ndiameter = \"24 mm\" # as drawn\n[camera]\n";
/// let other = varied(text, "body.diameter", "30 mm").unwrap();
/// assert_eq!(other, "kind = \"release\"\n[body] # size\ndiameter = \"30 mm\"\n[camera]\n");
/// assert!(varied(text, "diameter", "30 mm").is_none(), "a quantity stands in a table");
/// ```
///
/// `None` when the key names no table.
pub fn varied(text: &str, key: &str, value: &str) -> Option<String> {
    let (table, name) = key.rsplit_once('.')?;
    let line = format!("{name} = \"{value}\"");
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let Some(head) = lines.iter().position(|line| heads(line) == Some(table)) else {
        lines.push(format!("[{table}]"));
        lines.push(line);
        return Some(lines.join("\n") + "\n");
    };
    let end = lines[head + 1..].iter().position(|line| heads(line).is_some());
    let end = end.map_or(lines.len(), |k| head + 1 + k);
    match (head + 1..end).find(|k| names(&lines[*k]) == Some(name)) {
        Some(k) => lines[k] = line,
        None => lines.insert(head + 1, line),
    }
    Some(lines.join("\n") + "\n")
}

/// Name of the table that a line begins.
fn heads(line: &str) -> Option<&str> {
    let inside = line.trim_start().strip_prefix('[')?;
    let inside = inside.strip_prefix('[').unwrap_or(inside);
    inside.split_once(']').map(|(name, _)| name.trim())
}

/// Key that a line sets.
fn names(line: &str) -> Option<&str> {
    let line = line.trim_start();
    if line.starts_with('#') {
        return None;
    }
    line.split_once('=').map(|(name, _)| name.trim())
}

#[cfg(test)]
mod tests {
    use super::varied;
    use crate::experiment::file::Experiment;

    const TEXT: &str = "format = 1\nkind = \"release\"\n\n[body]\n# diameter = \"1 mm\"\ndiameter = \"24 mm\"\n\n[camera]\nscale = \"0.05 mm/px\"\n";

    #[test]
    fn only_the_key_in_its_table_is_changed() {
        let other = varied(TEXT, "camera.capture_rate", "100 fps").unwrap();
        let read = Experiment::parse(&other, "x").unwrap();
        assert!((read.camera.unwrap().capture_rate.unwrap().value() - 100.0).abs() < 1e-12);
        assert!((read.body.unwrap().diameter.unwrap().value() - 0.024).abs() < 1e-15);
        assert!(other.contains("# diameter = \"1 mm\""), "{other}");
    }

    #[test]
    fn a_table_that_is_not_there_is_added() {
        let other = varied(TEXT, "surroundings.available_time", "5 s").unwrap();
        let read = Experiment::parse(&other, "x").unwrap();
        assert!((read.surroundings.unwrap().available_time.unwrap().value() - 5.0).abs() < 1e-12);
    }
}
