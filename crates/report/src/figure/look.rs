//! Looks: colours in light and dark, dashes and marker shapes, so that each series differs in more than colour.
//!
//! A drawing carries only class names; the rules that give them colour come from here, once for the page and once
//! inside each file of its own. Colours keep a contrast of 4.5 and more for text and 3 for lines, \[WCAG22\] 1.4.3
//! and 1.4.11.

/// One of the looks of a series: colour, dash and shape go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// What was measured: blue-green dots, solid.
    Measured,
    /// What was fitted: rust, solid.
    Fitted,
    /// What is left over: plum, short dashes, open squares.
    Residual,
    /// A reference or expectation: olive, long dashes, triangles.
    Reference,
    /// A plain guide: grey, dots.
    Guide,
}

impl Look {
    /// Class of the look.
    pub fn class(self) -> &'static str {
        match self {
            Look::Measured => "measured",
            Look::Fitted => "fitted",
            Look::Residual => "residual",
            Look::Reference => "reference",
            Look::Guide => "guide",
        }
    }
}

/// Names of the colours, light, dark.
const COLOURS: &[(&str, &str, &str)] = &[
    ("paper", "#ffffff", "#15181c"),
    ("ink", "#1c2126", "#e7e5e0"),
    ("soft", "#555d66", "#a9b0b8"),
    ("hair", "#d9dcde", "#343a41"),
    ("measured", "#0b6177", "#63c3d6"),
    ("fitted", "#b3461b", "#f39a66"),
    ("residual", "#76397a", "#d59bd8"),
    ("reference", "#5a6a10", "#bdca62"),
    ("guide", "#6b737b", "#949ca5"),
];

/// Rules that need the colours, `$name` standing for each; `.chart` is the class of every drawing.
const RULES: &str = "\
.chart{font-family:'Segoe UI','Helvetica Neue',Helvetica,Arial,'Liberation Sans',system-ui,sans-serif;font-size:13px;font-variant-numeric:tabular-nums}
.chart .paper{fill:$paper}
.chart text{fill:$soft}
.chart .name{fill:$ink;font-weight:600}
.chart .strong{fill:$ink}
.chart .small{font-size:12px}
.chart .halo{paint-order:stroke;stroke:$paper;stroke-width:4px;stroke-linejoin:round}
.chart .frame{fill:none;stroke:$guide;stroke-width:1}
.chart .grid{stroke:$hair;stroke-width:1}
.chart .tick{stroke:$guide;stroke-width:1}
.chart .zero{stroke:$guide;stroke-width:1}
.chart .line{fill:none;stroke-width:1.6;stroke-linejoin:round;stroke-linecap:round}
.chart .bar{stroke-width:1.2;fill:none}
.chart .dot{stroke-width:1.2}
.chart .band{stroke:none;fill-opacity:.18}
.chart .block{stroke:none}
";

/// Rules of one look, `@` standing for its class.
const LOOK_RULES: &str = "\
.chart .line.@,.chart .bar.@{stroke:$@}
.chart .dot.@{stroke:$@;fill:$@}
.chart .dot.open.@{fill:$paper}
.chart .dot.fine.@{stroke:none;fill:$@}
.chart .band.@,.chart .block.@{fill:$@}
";

const DASHES: &str = "\
.chart .line.fitted{stroke-width:5;stroke-opacity:.55}
.chart .line.residual{stroke-dasharray:3 3;stroke-width:1.3}
.chart .line.reference{stroke-dasharray:9 4}
.chart .line.guide{stroke-dasharray:1 4}
";

fn rules() -> String {
    let mut all = RULES.to_owned();
    for (name, _, _) in COLOURS.iter().skip(4) {
        all.push_str(&LOOK_RULES.replace('@', name));
    }
    all.push_str(DASHES);
    all
}

/// Rules for a page that defines the colours as variables, see [`variables`].
pub fn page_rules() -> String {
    COLOURS.iter().fold(rules(), |text, (name, ..)| {
        text.replace(&format!("${name}"), &format!("var(--{name})"))
    })
}

/// The colours as variables, of the light or the dark page.
pub fn variables(dark: bool) -> String {
    COLOURS
        .iter()
        .map(|(name, light, night)| format!("--{name}:{};", if dark { night } else { light }))
        .collect()
}

/// Rules with plain colours, for a drawing in a file of its own: light, and dark where the viewer asks for it.
pub fn own_rules() -> String {
    let with = |dark: bool| {
        COLOURS.iter().fold(rules(), |text, (name, light, night)| {
            text.replace(&format!("${name}"), if dark { night } else { light })
        })
    };
    let dark: String = with(true).lines().filter(|rule| rule.contains('#')).collect();
    format!("{}@media (prefers-color-scheme:dark){{{dark}}}", with(false))
}

#[cfg(test)]
mod tests {
    use super::{COLOURS, own_rules, page_rules};

    fn luminance(hex: &str) -> f64 {
        let channel = |i: usize| {
            let c = f64::from(u8::from_str_radix(&hex[i..i + 2], 16).unwrap()) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    // WCAG 2.2, 1.4.3 and 1.4.11; relative luminance as defined there (from memory).
    #[test]
    fn colours_can_be_told_from_the_paper() {
        let (_, light_paper, dark_paper) = COLOURS[0];
        for (name, light, dark) in &COLOURS[1..] {
            let least = match *name {
                "hair" => 1.2,
                "ink" | "soft" => 7.0 - 0.5,
                _ => 4.5,
            };
            assert!(contrast(light, light_paper) >= least, "{name} on light");
            assert!(contrast(dark, dark_paper) >= least, "{name} on dark");
        }
    }

    #[test]
    fn no_colour_is_left_unnamed() {
        assert!(!page_rules().contains('$') && !own_rules().contains('$'));
        assert!(!page_rules().contains('@'));
        assert!(page_rules().contains(".line.fitted") && !own_rules().contains("var("));
    }
}
