//! The page: head, what breaks, tables and figures, procedure, cautions.
//!
//! No script, no network; its content policy says so to the browser. Printed it is small type in two columns of tables, and the procedure begins a new page.

use tremolet_record::sheet::{Sheet, Step};

use crate::document::section::{Section, figure, list, prose};
use crate::document::style::style;
use crate::sheet::pictures::figures;
use crate::sheet::table::{table, value};
use crate::text::escape;

const OWN: &str = "\
.breaks{list-style:none;padding:0;border:2px solid var(--fitted);max-width:60rem;margin-top:1.25rem}
.breaks li{padding:.7rem 1rem}
.breaks b{font-family:'Segoe UI','Helvetica Neue',Helvetica,Arial,'Liberation Sans',system-ui,sans-serif;color:var(--fitted)}
.expected{width:100%}
.expected th[scope=row]{width:46%}
.expected .n{width:20%}
.expected td.from{padding-left:1.5rem;color:var(--soft);font-size:.8125rem}
.expected .src{white-space:nowrap}
.why{color:var(--soft);font-size:.8125rem;line-height:1.4}
.sign{color:var(--fitted);font-weight:600;font-size:.8125rem;margin-right:.5rem}
.group+.group{margin-top:2rem}
.group h3{margin-bottom:.4rem}
.steps{list-style:none;padding:0;max-width:52rem}
.steps li{display:grid;grid-template-columns:5.5rem 1.4rem minmax(0,1fr);column-gap:.8rem;padding:.45rem 0;border-top:1px solid var(--hair)}
.steps .when{font-family:'Segoe UI','Helvetica Neue',Helvetica,Arial,'Liberation Sans',system-ui,sans-serif;font-size:.875rem;font-weight:600}
.steps .box{width:.95rem;height:.95rem;border:1.5px solid var(--guide);margin-top:.3rem}
.given{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));column-gap:2.5rem}
.given>div{display:grid;grid-template-columns:11rem minmax(0,1fr);padding:.25rem 0;border-top:1px solid var(--hair)}
.given dt{color:var(--soft);font-size:.9375rem}
.given dd{margin:0}
@media (max-width:640px){.given{grid-template-columns:minmax(0,1fr)}.expected td.from{display:none}}
@media print{
html{font-size:6.9pt}
@page{size:A4 landscape;margin:8mm 9mm}
main{columns:3;column-gap:6mm}
header{padding-bottom:.4rem}
h1{font-size:1.9rem}
section{padding:.4rem 0 .5rem;border-top:0}
section>h2{font-size:1.15rem;margin-bottom:.25rem}
.group+.group{margin-top:.6rem}
.group h3{margin-bottom:.1rem}
th,td{padding:.06rem .6rem .06rem 0;line-height:1.3}
.steps,.cautions{line-height:1.38}
.expected td.from,.expected thead th:last-child{display:none}
.expected th[scope=row]{width:66%}
thead{display:none}
.code{display:none}
.given{column-gap:1rem}
.given>div{grid-template-columns:8rem minmax(0,1fr);padding:.08rem 0}
figure+figure{margin-top:.6rem}
figure svg{max-height:44mm;margin:0 auto}
figcaption{margin-top:.15rem;font-size:.85rem}

.steps li{padding:.18rem 0;grid-template-columns:4.5rem 1.2rem minmax(0,1fr)}
.cautions li{padding:.35rem .7rem}
.assumed{font-size:.9rem}
}
";

/// Makes the page.
pub fn render(sheet: &Sheet) -> String {
    let sections = sections(sheet);
    let sections: Vec<&Section> = sections
        .iter()
        .filter(|section| !section.content.is_empty())
        .collect();
    let body: String = sections.iter().map(|section| section.html()).collect();
    let links: String = sections
        .iter()
        .map(|s| format!("<li><a href=\"#{}\">{}</a></li>\n", s.id, escape(&s.heading)))
        .collect();
    let title = escape(&sheet.title);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta \
         http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\">\n<title>Plan: {title}</title>\n<style>\n{}{OWN}</style>\n</head>\n\
         <body>\n<header>\n<h1>{title}</h1>\n<p class=\"summary\">Plan of a {} run. Expectations from theory with the uncertainty that the file leaves them; this sheet is no safety approval.</p>\n{}\
         <nav aria-label=\"Parts of this sheet\">\n<ul>\n{links}</ul>\n</nav>\n</header>\n<main>\n{body}</main>\n</body>\n</html>\n",
        style(),
        escape(&sheet.kind),
        breaks(sheet)
    )
}

fn breaks(sheet: &Sheet) -> String {
    if sheet.alarms.is_empty() {
        return String::new();
    }
    let lines: String = sheet
        .alarms
        .iter()
        .map(|alarm| {
            format!(
                "<li><b>This breaks.</b> {} <span class=\"code\">{}</span></li>\n",
                prose(&capital(&alarm.text)),
                escape(&alarm.code)
            )
        })
        .collect();
    format!("<ul class=\"breaks\" role=\"alert\">\n{lines}</ul>\n")
}

/// First letter large.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn sections(sheet: &Sheet) -> Vec<Section> {
    let groups: String = sheet
        .groups
        .iter()
        .map(|group| {
            format!(
                "<div class=\"group\">\n<h3>{}</h3>\n{}</div>\n",
                escape(&group.title),
                table(group)
            )
        })
        .collect();
    let drawn: String = figures(sheet).iter().map(figure).collect();
    let entries: String = sheet
        .given
        .iter()
        .map(|entry| {
            format!(
                "<div><dt>{}</dt><dd title=\"{}\">{}</dd></div>\n",
                escape(&entry.name),
                escape(&entry.source),
                value(&entry.text)
            )
        })
        .collect();
    let given = if entries.is_empty() {
        String::new()
    } else {
        format!("<dl class=\"given\">\n{entries}</dl>\n")
    };
    let assumed = if sheet.assumptions.is_empty() {
        String::new()
    } else {
        format!("<div class=\"assumed\">{}</div>\n", list(&sheet.assumptions))
    };
    let cautions: String = sheet
        .cautions
        .iter()
        .map(|caution| {
            format!(
                "<li><p>{}</p><p class=\"code\">{}</p></li>\n",
                prose(&caution.text),
                escape(&caution.code)
            )
        })
        .collect();
    vec![
        Section::new("given", "Taken in", format!("{given}{assumed}")),
        Section::new("figures", "In pictures", drawn),
        Section::new("expected", "What to expect", groups),
        Section::new("procedure", "Procedure", steps(&sheet.procedure)),
        Section::new(
            "cautions",
            "Cautions",
            if cautions.is_empty() {
                cautions
            } else {
                format!("<ul class=\"cautions\">\n{cautions}</ul>\n")
            },
        ),
    ]
}

fn steps(steps: &[Step]) -> String {
    if steps.is_empty() {
        return String::new();
    }
    let lines: String = steps
        .iter()
        .map(|step| {
            format!(
                "<li><span class=\"when\">{}</span><span class=\"box\"></span><span>{}</span></li>\n",
                escape(&step.when),
                prose(&step.what)
            )
        })
        .collect();
    format!("<ol class=\"steps\">\n{lines}</ol>\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_record::findings::Caution;
    use tremolet_record::sheet::{Alarm, FORMAT};

    fn sheet() -> Sheet {
        Sheet {
            format: FORMAT,
            file: "plan.toml".into(),
            title: "A <b>bold</b> plan".into(),
            kind: "release".into(),
            alarms: vec![Alarm {
                code: "boils".into(),
                text: "the liquid boils".into(),
            }],
            given: Vec::new(),
            assumptions: vec!["air".into()],
            groups: Vec::new(),
            moments: Vec::new(),
            shapes: Vec::new(),
            curves: Vec::new(),
            waves: None,
            procedure: vec![Step {
                when: "go".into(),
                what: "let go & film".into(),
            }],
            cautions: vec![Caution {
                code: "no_safety_approval".into(),
                text: "no approval".into(),
                frames: None,
            }],
        }
    }

    #[test]
    fn what_breaks_stands_before_everything_else() {
        let html = render(&sheet());
        let at = |text: &str| html.find(text).unwrap_or_else(|| panic!("no {text}"));
        assert!(at("The liquid boils") < at("<main>") && at("id=\"procedure\"") < at("id=\"cautions\""));
        assert!(html.contains("A &lt;b&gt;bold&lt;/b&gt; plan") && html.contains("let go &amp; film"));
        assert!(!html.contains("<script") && html.contains("default-src 'none'"));
        assert!(
            !html.contains("id=\"figures\""),
            "a part without content is left out"
        );
    }

    #[test]
    fn a_plan_that_holds_has_no_alarm() {
        let html = render(&Sheet {
            alarms: Vec::new(),
            ..sheet()
        });
        assert!(!html.contains("This breaks"));
    }
}
