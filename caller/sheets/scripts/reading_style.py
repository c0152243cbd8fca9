"""How the page of the row script looks.

The colours have contrasts of at least 7 to 1 (WCAG 2.2, 1.4.6), links are 24 pixels or more in
both directions (2.5.8), and the type is 24 CSS pixels, which are 18 points, or larger where the
reader has chosen larger.
"""

STYLE = """\
:root{color-scheme:light dark;--ink:#000;--page:#fff;--link:#00308f;--line:#595959}
@media (prefers-color-scheme:dark){:root{--ink:#fff;--page:#000;--link:#9fd0ff;--line:#bdbdbd}}
html{font-size:max(150%,24px)}
body{margin:0 auto;padding:.75rem;max-width:40rem;color:var(--ink);background:var(--page);
font-family:Verdana,"DejaVu Sans",Arial,sans-serif;line-height:1.5;overflow-wrap:break-word}
h1{font-size:1.5rem;line-height:1.25}
h2{font-size:1.25rem;line-height:1.25;margin:1.5rem 0 .5rem}
a{color:var(--link)}
a:focus-visible,main:focus-visible{outline:.15rem solid var(--ink);outline-offset:.15rem}
.skip{display:inline-block;padding:.25rem 0}
nav ul{list-style:none;margin:0;padding:0;display:flex;flex-wrap:wrap;gap:.25rem .75rem}
nav a{display:inline-block;padding:.25rem 0}
table{border-collapse:collapse;width:100%}
caption{text-align:left;padding:.25rem 0}
th,td{text-align:left;vertical-align:top;padding:.25rem .35rem .25rem 0;
border-bottom:1px solid var(--line)}
i{display:inline-block;width:.8em;height:.8em;margin-right:.35em;border:2px solid var(--ink);
vertical-align:-.05em;forced-color-adjust:none}
@media print{nav,.skip{display:none}section{break-inside:avoid}h2{break-after:avoid}}
"""
