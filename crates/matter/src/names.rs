//! Names of substances: brought to one form, and the nearest one to a name that is not known.
//!
//! The distance is that of Levenshtein: the smallest number of letters put in, left out or exchanged.

/// Lower case, with words joined by single hyphens.
///
/// ```
/// assert_eq!(tremolet_matter::names::plain(" Silicone Oil_10 cSt"), "silicone-oil-10-cst");
/// ```
pub fn plain(name: &str) -> String {
    let lower = name.to_lowercase();
    let words = lower.split(|c: char| c.is_whitespace() || c == '_' || c == '-');
    words
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join("-")
}

/// The three of `known` nearest to `name`, nearest first, in the order of `known` where equal; comma-separated.
pub fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> String {
    let name = plain(name);
    let mut ranked: Vec<(usize, &str)> = known.map(|other| (distance(&name, other), other)).collect();
    ranked.sort_by_key(|(distance, _)| *distance);
    let names: Vec<&str> = ranked.into_iter().take(3).map(|(_, other)| other).collect();
    names.join(", ")
}

fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, other) in b.iter().enumerate() {
            let exchanged = corner + usize::from(letter != *other);
            corner = row[j + 1];
            row[j + 1] = exchanged.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    // "kitten" to "sitting" is the textbook example: 3.
    #[test]
    fn distances() {
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
        assert_eq!(distance("abc", ""), 3);
        assert_eq!(distance("water", "water"), 0);
    }

    #[test]
    fn nearest_comes_first() {
        let known = ["mercury", "ethanol", "water", "saline"];
        assert_eq!(
            nearest("Wather", known.into_iter()).split(", ").next(),
            Some("water")
        );
    }
}
