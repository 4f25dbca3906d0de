"""How the report looks: one style sheet for light, dark and paper."""

LIGHT = """
--page:#f6f4ef;--card:#ffffff;--ink:#1c2126;--ink2:#4d565e;--edge:#7b838a;--hair:#d9d6cd;--judged:#f4f6f8;
--blue:#0063a3;--rust:#a84300;--night:#1c2126;--grey:#6b737a;--teal:#00705a;--plum:#8b3a7e;
--stops:#a8210f;--check:#8a5200;--fine:#12663f;
"""
DARK = """
--page:#15191d;--card:#1d2329;--ink:#e9ecee;--ink2:#a9b4bd;--edge:#727d87;--hair:#353d45;--judged:#242b32;
--blue:#56b4e9;--rust:#f0a35e;--night:#fafdf5;--grey:#98a3ad;--teal:#3fd0a8;--plum:#e29bd6;
--stops:#ff9c8a;--check:#f3b33d;--fine:#5fd39a;
"""

PAGE = """
*{box-sizing:border-box}
html{background:var(--page);color:var(--ink);color-scheme:light dark;
font:16px/1.45 "Atkinson Hyperlegible Next","Atkinson Hyperlegible",system-ui,-apple-system,"Segoe UI",Roboto,
"Noto Sans","DejaVu Sans",sans-serif}
body{margin:0 auto;max-width:1280px;padding:20px 24px 48px;overflow-wrap:break-word}
h1{font-size:1.75rem;line-height:1.2;margin:0 0 6px}
h2{font-size:1.3rem;line-height:1.25;margin:40px 0 6px}
h3{font-size:1.06rem;margin:0 0 6px}section>h3{margin-top:20px}
p{margin:0 0 10px;max-width:78ch}
ul{margin:0 0 8px;padding-left:1.15em}
nav{margin:10px 0 0}nav ul{list-style:none;padding:0;display:flex;flex-wrap:wrap;gap:4px 18px}
a{color:var(--blue)}
.lead{font-size:1.06rem}
.quiet,.note,figcaption small,caption{color:var(--ink2)}
.note{font-size:.88rem;margin:4px 0}
.card,figure{background:var(--card);
border:1px solid var(--hair);border-radius:10px;padding:12px 16px;margin:0}
figcaption{font-weight:600;margin-bottom:2px}figcaption small{font-weight:400;font-size:.88rem}
.grid{display:grid;gap:14px;margin:10px 0 14px}
.three{grid-template-columns:repeat(auto-fit,minmax(min(100%,330px),1fr))}
.two{grid-template-columns:repeat(auto-fit,minmax(min(100%,440px),1fr))}
svg{display:block;width:100%;height:auto;margin:0 auto;font-size:13px}
details{margin-top:6px;font-size:.88rem}summary{cursor:pointer;color:var(--ink2)}
summary:focus-visible,a:focus-visible,.scroll:focus-visible{outline:2px solid var(--blue);outline-offset:2px}
.scroll{overflow-x:auto}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
th,td{padding:5px 12px 5px 0;border-bottom:1px solid var(--hair);text-align:right;vertical-align:top}
th:first-child,td:first-child{text-align:left}
thead th,thead td{color:var(--ink2);font-weight:500}tbody th{font-weight:400}
tbody tr:last-child>*{border-bottom:0}
table.words td{text-align:left}
.best{color:var(--fine);font-weight:600}
.legend{list-style:none;display:flex;flex-wrap:wrap;gap:4px 18px;padding:0;margin:4px 0 10px;font-size:.92rem}
.legend li{display:flex;align-items:center;gap:7px}.legend svg{width:34px;height:12px;flex:none}
.key{list-style:none;display:grid;gap:1px;padding:0;margin:0 0 6px;font-size:.88rem}
.key li{display:flex;align-items:center;gap:6px}.key svg{width:32px;height:12px;flex:none;margin:0}
.key.signs svg{width:20px;height:16px}.key.signs,.key.lines{display:flex;flex-wrap:wrap;gap:2px 16px}
.card.spaced{margin:10px 0}.card>p:not(:first-child):has(>b:only-child){margin-top:10px}
.counts{display:flex;flex-wrap:wrap;gap:4px 16px;margin-top:10px}
.even{table-layout:fixed}.alone{max-width:760px}
.card p b{font-size:.92rem}.card p:has(>b:only-child){margin:0}
.words th{width:46%}.words.rules th:not(:first-child){width:27%;text-align:left}
.swatch{width:20px;height:16px;border:2px solid var(--ink);border-radius:4px;flex:none}
.findings{list-style:none;padding:0;margin:0}
.findings>li{display:grid;grid-template-columns:5.2em 1fr;gap:2px 10px;padding:9px 0;
border-top:1px solid var(--hair)}
.findings>li:first-child{border-top:0}
.findings>.fine-row{padding:5px 0;font-size:.92rem}
.findings dl{display:grid;grid-template-columns:4.2em 1fr;gap:2px 8px;margin:3px 0 0;font-size:.92rem}
.findings dt{color:var(--ink2)}.findings dd{margin:0}.findings dd.where{font-size:.86rem;color:var(--ink2)}
.stops,.check,.fine{font-weight:600;white-space:nowrap}
.stops{color:var(--stops)}.check{color:var(--check)}.fine{color:var(--fine)}
.pair{display:flex;align-items:center;gap:9px}.pair svg{width:40px;height:12px;flex:none;margin:0}
dl.facts{display:grid;grid-template-columns:auto 1fr;gap:3px 14px;margin:8px 0 0}
.facts dt{color:var(--ink2)}.facts dd{margin:0}
"""

PICTURE = """
svg text{fill:var(--ink)}svg .tick{fill:var(--ink2);font-size:12px}svg .small{font-size:12px}
svg .name{font-size:12px}
svg .halo{paint-order:stroke;stroke:var(--card);stroke-width:4px;stroke-linejoin:round}
.grid-line,svg .grid{stroke:var(--hair);stroke-width:1}
svg .frame{fill:none;stroke:var(--edge);stroke-width:1}svg .judged{fill:var(--judged)}
svg .rule{stroke:var(--ink2);stroke-width:1;stroke-dasharray:5 4}
svg .line{fill:none;stroke-width:2;stroke-linejoin:round}svg .line.thin{stroke-width:1.1}
svg .l0{stroke:var(--blue)}
svg .l1{stroke:var(--rust);stroke-dasharray:7 4}
svg .l2{stroke:var(--night);stroke-dasharray:9 3 2 3}
svg .l3{stroke:var(--grey);stroke-dasharray:2 3}
svg .l4{stroke:var(--teal);stroke-dasharray:12 4}
svg .l5{stroke:var(--plum);stroke-dasharray:9 3 2 3 2 3}
svg .line.thin.l0,svg .line.thin.l1,svg .line.thin.l2,svg .line.thin.l3{stroke-opacity:.75}
svg .plain{stroke-dasharray:none}
svg .dot{stroke:var(--card);stroke-width:1.5;stroke-dasharray:none}
svg .step{fill:none;stroke:var(--ink2);stroke-width:1.5}
svg .dot.l0{fill:var(--blue)}svg .dot.l1{fill:var(--rust)}
svg .dot.l2{fill:var(--night)}svg .dot.l3{fill:var(--grey)}
svg .t-l0{fill:var(--blue)}svg .t-l1{fill:var(--rust)}svg .t-l2{fill:var(--night)}svg .t-l3{fill:var(--grey)}
svg .t-l4{fill:var(--teal)}svg .t-l5{fill:var(--plum)}
svg .over{stroke:#fff;stroke-opacity:.22;stroke-width:1}
svg .casing{fill:none;stroke:#000;stroke-opacity:.55;stroke-width:4;stroke-linejoin:round}
svg .white{fill:none;stroke:#fff;stroke-width:1.8;stroke-linejoin:round}
svg .on-map{fill:#fff;font-size:12.5px;paint-order:stroke;stroke:#000;stroke-opacity:.6;stroke-width:3px}
svg .wall{fill:none;stroke:var(--edge);stroke-width:3}
svg .cabinet{fill:var(--card);stroke:var(--ink);stroke-width:1.5;stroke-linejoin:round}
svg .other{stroke-dasharray:4 3}svg .front{fill:none;stroke:var(--ink);stroke-width:4}
svg .aim{fill:none;stroke:var(--ink2);stroke-width:1;stroke-dasharray:3 3}
svg .seat{stroke:var(--ink);stroke-width:2}svg .spread{font-size:14px;font-weight:700}
svg .spread.on-light{fill:#000}svg .spread.on-dark{fill:#fff}
svg .hole{font-size:12px;fill:var(--ink2)}
svg .dot.l4{fill:var(--teal)}svg .dot.l5{fill:var(--plum)}
svg .way{stroke:var(--edge);stroke-width:1}svg .range{stroke-width:2;stroke-dasharray:none;stroke-opacity:.6}
svg .part{stroke:var(--ink2);stroke-width:1}svg .p0{fill:var(--blue)}svg .p1{fill:var(--teal)}
svg .p2{fill:var(--rust)}svg .p3{fill:var(--hair)}
svg .board{fill:var(--hair);stroke:var(--edge);stroke-width:1.2}
svg .deepens{fill:var(--rust)}svg .fills{fill:var(--blue)}
"""

PAPER = """
@page{size:A4;margin:12mm 10mm}
@media print{
:root{LIGHT--page:#fff}
html{color-scheme:light;font-size:9.5pt;background:#fff;-webkit-print-color-adjust:exact;print-color-adjust:exact}
body{max-width:none;padding:0 1px}
nav,details:not([open]){display:none}
h2{margin-top:18px;break-after:avoid}h3,figcaption{break-after:avoid}
.card,figure,.findings>li,tr{break-inside:avoid}
section.page{break-before:page}
.grid{gap:10px}
.three{grid-template-columns:repeat(2,minmax(0,1fr))}.three.text{grid-template-columns:repeat(3,minmax(0,1fr))}
.card,figure{padding:7px 10px}svg .tick,svg .name,svg .small{font-size:12.7px}.three svg{max-height:94mm}
.two{grid-template-columns:repeat(2,minmax(0,1fr))}
.scroll{overflow:visible}
}
"""


def style_sheet() -> str:
    """Return the whole style sheet."""
    return (
        f":root{{{LIGHT}}}@media (prefers-color-scheme:dark){{:root{{{DARK}}}}}"
        f"{PAGE}{PICTURE}{PAPER.replace('LIGHT', LIGHT)}"
    ).replace("\n", "")
