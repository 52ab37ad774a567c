//! How the page looks: type, measure, side headings, light and dark, print.
//!
//! Running text is set in a serif at a measure of about 70 letters, numbers and labels in a sans with figures of equal
//! width. Below 1000 px the side headings move above their text. Print is light whatever the screen.

use crate::figure::look::{page_rules, variables};

const PAGE: &str = "\
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;scroll-behavior:smooth}
@media (prefers-reduced-motion:reduce){html{scroll-behavior:auto}}
body{margin:0;background:var(--paper);color:var(--ink);font:1.0625rem/1.55 Charter,'Bitstream Charter','Iowan Old Style','Palatino Linotype',Georgia,'Liberation Serif',serif;font-kerning:normal;hanging-punctuation:first}
header,main{max-width:77rem;margin:0 auto;padding:0 2rem}
header{padding-top:3.5rem;padding-bottom:1.75rem}
h1,h2,h3,p,ul,dl,figure{margin:0}
h1{font-size:2.5rem;line-height:1.15;font-weight:600;letter-spacing:-.012em;max-width:26em;text-wrap:balance}
.summary{margin-top:.9rem;font-size:1.25rem;line-height:1.45;max-width:52em;text-wrap:pretty}
h2,h3,nav,dt,table,caption,figcaption b,.number,.note,.code,.notice,.sources{font-family:'Segoe UI','Helvetica Neue',Helvetica,Arial,'Liberation Sans',system-ui,sans-serif}
h2{font-size:1.0625rem;line-height:1.35;font-weight:600;text-wrap:balance}
h3{font-size:1rem;line-height:1.4;font-weight:600}
p,li,dd{overflow-wrap:anywhere;text-wrap:pretty}
.in>p,.in>ul,.method p,.method>ul,.finding p{max-width:42rem}
.in>*+*,.method>*+*{margin-top:1rem}
a{color:var(--measured);text-decoration-thickness:1px;text-underline-offset:.18em}
a:hover{text-decoration-thickness:2px}
:focus-visible{outline:3px solid var(--fitted);outline-offset:3px;border-radius:2px}
.notice{display:inline-block;margin-bottom:1.5rem;padding:.45rem .8rem;border:2px solid var(--fitted);font-size:.9375rem;font-weight:600}
nav{margin-top:1.75rem;font-size:.875rem;line-height:1.9}
nav ul{list-style:none;padding:0;display:flex;flex-wrap:wrap;column-gap:1.4rem}
section{display:grid;grid-template-columns:13rem minmax(0,1fr);column-gap:2.75rem;padding:2.25rem 0 2.75rem;border-top:1px solid var(--hair);scroll-margin-top:.5rem}
section>h2{padding-top:.15rem}
.finding{padding-bottom:.75rem}
.finding+.finding{padding-top:.25rem}
.finding h3{font-weight:500;color:var(--soft)}
.number{font-size:1.875rem;line-height:1.25;font-weight:600;font-variant-numeric:tabular-nums lining-nums;letter-spacing:-.01em;margin:.05rem 0 .4rem}
.plainly{font-size:1.25rem;line-height:1.45}
.note,.code{font-size:.875rem;line-height:1.5;color:var(--soft)}
.cautions{list-style:none;padding:0;border:1.5px solid var(--fitted);max-width:46rem}
.cautions li{padding:.9rem 1.2rem 1rem}
.cautions li+li{border-top:1px solid var(--hair)}
.cautions .code{margin-top:.15rem}
.hand{padding-left:1.1rem;max-width:46rem}
.hand li{padding:.2rem 0}
.facts{font-size:1rem}
.facts>div{display:grid;grid-template-columns:minmax(9rem,15rem) minmax(0,1fr);column-gap:1.5rem;padding:.42rem 0;border-top:1px solid var(--hair);align-items:baseline}
.facts>div:first-child{border-top:0}
.facts dt{font-size:.9375rem;line-height:1.5;color:var(--soft);overflow-wrap:anywhere}
.facts dd{margin:0}
figure{max-width:100%}
figure+figure{margin-top:2.25rem}
figure svg,figure img{display:block;max-width:100%;height:auto}
figure img{background:#000}
figcaption{margin-top:.6rem;font-size:.9375rem;line-height:1.5;max-width:46rem;color:var(--soft);text-wrap:pretty}
figcaption b{color:var(--ink);font-weight:600;font-size:.875rem}
.pictures{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));gap:1.75rem 1.5rem}
.pictures figure+figure{margin-top:0}
.wide{overflow-x:auto;position:relative}
table{border-collapse:collapse;font-size:.9375rem;line-height:1.45;font-variant-numeric:tabular-nums lining-nums}
caption{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
th,td{text-align:left;vertical-align:baseline;padding:.42rem 1.6rem .42rem 0;font-weight:400}
th:last-child,td:last-child{padding-right:0}
thead th{font-weight:600;border-bottom:1.5px solid var(--ink);white-space:nowrap}
tbody th,tbody td{border-bottom:1px solid var(--hair)}
.n{text-align:right;white-space:nowrap}
.method+.method{margin-top:2.25rem}
.formula{font-size:1.1875rem;line-height:1.7;padding-left:1.6rem}
var{font-style:italic}
sub,sup{font-size:.72em;line-height:0}
.sources{font-size:.875rem;color:var(--soft)}
.sources+ul{margin-top:.25rem;font-size:.9375rem}
ul{padding-left:1.15rem}
li+li{margin-top:.3rem}
nav li+li{margin-top:0}
";

const SMALL: &str = "\
@media (max-width:1000px){
section{display:block}
section>h2{font-size:1.25rem;margin-bottom:1rem}
header,main{padding-left:1.5rem;padding-right:1.5rem}
}
@media (max-width:640px){
.pictures,.facts>div{grid-template-columns:minmax(0,1fr)}
h1{font-size:2rem}
}
";

const PRINT: &str = "\
html{font-size:9.5pt}
header,main{max-width:none;padding-left:0;padding-right:0}
header{padding-top:0}
nav{display:none}
section{display:block;padding:1rem 0 1.25rem}
section>h2{font-size:1.3rem;margin-bottom:.6rem}
h1{font-size:2.2rem}
figcaption{max-width:none}
h2,h3{break-after:avoid}
figure,.finding,.cautions li,tr,.formula{break-inside:avoid}
.wide{overflow:visible}
a{color:inherit}
@page{margin:18mm 16mm}
";

/// The rules of the page.
pub fn style() -> String {
    format!(
        ":root{{color-scheme:light dark;{}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}\n{PAGE}{}\
         {SMALL}@media print{{\n:root{{color-scheme:light}}\n{PRINT}}}\n",
        variables(false),
        variables(true),
        page_rules()
    )
}
