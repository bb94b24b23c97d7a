import { html } from './html.ts';
import type { Markup } from './html.ts';

/** The document's frame: one file that needs nothing else and may load nothing else, legible in black and white. */
const STYLE = `
* { box-sizing: border-box; }
body { margin: 0; font: 9.5pt/1.4 system-ui, "Segoe UI", Roboto, "Helvetica Neue", "DejaVu Sans", sans-serif; color: #111; background: #fff; }
h1 { font-size: 17pt; line-height: 1.2; margin: 0; }
h1 { overflow-wrap: anywhere; }
h2 { font-size: 11pt; margin: 12pt 0 4pt; border-bottom: 0.75pt solid #111; padding-bottom: 2pt; break-after: avoid; }
p, ul, dl, table { margin: 4pt 0; }
ul { padding-left: 14pt; }
li { margin: 1pt 0; break-inside: avoid; }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 12pt; border-bottom: 2pt solid #111; padding-bottom: 5pt; }
header p { margin: 0; text-align: right; color: #333; flex: none; }
.banner { border: 1.5pt dashed #111; padding: 4pt 8pt; font-weight: 600; margin: 8pt 0; }
.facts { display: grid; grid-template-columns: 1fr 1fr; gap: 2pt 16pt; }
.facts div { display: grid; grid-template-columns: 84pt 1fr; gap: 6pt; }
.facts .whole { grid-column: 1 / -1; }
.facts dt { color: #444; }
.facts dd { margin: 0; overflow-wrap: anywhere; white-space: pre-line; }
/* Narrower than the page, so that all four figures stand under the flat widths on the first one. */
.figures { margin: 8pt auto 0; max-width: 150mm; display: grid; grid-template-columns: 1fr 1fr; gap: 8pt; }
figure { margin: 0; break-inside: avoid; }
figure img, figure svg { width: 100%; display: block; border: 0.75pt solid #555; }
.figures + .figures { margin-top: 6pt; }
/* A picture alone stands in the middle, not beside an empty half. */
.figures > figure:only-child { grid-column: 1 / -1; justify-self: center; width: 72mm; }
figcaption { font-size: 8pt; color: #333; margin-top: 2pt; }
svg text { font: 4.6px system-ui, "DejaVu Sans", sans-serif; fill: #111; }
.baseline-line, .later-line, .line-edge, .profile-line, .bar, .grid { fill: none; vector-effect: non-scaling-stroke; }
.line-edge { stroke: #fff; stroke-width: 2.2px; }
.baseline-line { stroke: #b36b00; stroke-width: 0.9px; }
.later-line { stroke: #004b7a; stroke-width: 0.9px; stroke-dasharray: 4 2.5; }
.profile-line { stroke: #111; stroke-width: 1.2px; }
.bar { stroke: #111; stroke-width: 2px; }
.grid { stroke: #bbb; stroke-width: 0.5px; }
.band { fill: #ccc; }
.plot svg { border: 0; }
.wear-chart { max-width: 165mm; margin: 4pt auto; }
.wear-chart svg text { font-size: 3.2px; }
.band-clear { fill: #999; fill-opacity: 0.25; }
.error-bar { fill: none; stroke: #111; stroke-width: 1px; vector-effect: non-scaling-stroke; }
.point { fill: #111; stroke: #111; stroke-width: 1px; vector-effect: non-scaling-stroke; }
.point.open { fill: #fff; }
.limit-line { fill: none; stroke: #111; stroke-width: 1px; stroke-dasharray: 5 3; vector-effect: non-scaling-stroke; }
.advice { border: 1.5pt solid #111; padding: 2pt 8pt 4pt; margin-top: 8pt; }
.advice h2 { border: 0; margin: 4pt 0 0; font-size: 12.5pt; }
.reasons td, .reasons th { width: 40%; }
.reasons td:last-child, .reasons th:last-child { width: 20%; }
.numbers td.text { white-space: pre-line; width: 85%; }
.hash { font: 8pt ui-monospace, "DejaVu Sans Mono", monospace; overflow-wrap: anywhere; }
table { border-collapse: collapse; width: 100%; }
.numbers th, .numbers td { text-align: left; padding: 2pt 8pt 2pt 0; border-bottom: 0.5pt solid #999; vertical-align: top; font-variant-numeric: tabular-nums; }
.numbers th { font-weight: 500; }
.numbers thead th { color: #444; font-weight: 400; }
/* A table that fits on a page stays whole; a longer one repeats its head. */
.numbers, .numbers tr { break-inside: avoid; }
/* Budgets are read line by line; kept whole they left half a page empty before them. */
.numbers.split { break-inside: auto; }
.split tr:nth-child(-n + 2) { break-after: avoid; }
.split tr:nth-last-child(-n + 2) { break-before: avoid; }
.numbers td.wide { width: 62%; overflow-wrap: anywhere; }
.form { break-inside: avoid; }
.checks td, .checks thead th:not(:first-child) { text-align: center; width: 46pt; }
.blanks dd { border-bottom: 0.5pt solid #111; min-height: 14pt; }
.blanks { gap: 6pt 16pt; }
.cautions { border: 1.5pt solid #111; padding: 2pt 8pt 4pt; margin-top: 12pt; break-inside: avoid; }
.cautions h2 { border: 0; margin-top: 4pt; }
.columns { break-inside: avoid; columns: 2; column-gap: 16pt; }
.small, footer { font-size: 8pt; color: #333; }
footer { margin-top: 10pt; border-top: 0.75pt solid #111; padding-top: 4pt; overflow-wrap: anywhere; }
@media screen { body { padding: 12mm; max-width: 210mm; margin: 0 auto; } }
`;

export type SheetDocument = {
  readonly title: string;
  readonly kind: string;
  readonly printed: string;
  readonly demo: boolean;
  readonly paper: 'A4' | 'Letter';
  readonly body: Markup;
  readonly footer: string;
};

const PAGE: Readonly<Record<'A4' | 'Letter', string>> = { A4: 'A4 portrait', Letter: 'letter portrait' };

/** The browser numbers the pages; the words of people stay out of it, being no text for a style sheet. */
const PAGE_NUMBER =
  '@bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt system-ui, "DejaVu Sans", sans-serif; color: #333; }';

export function sheetDocument({ title, kind, printed, demo, paper, body, footer }: SheetDocument): string {
  const style: Markup = {
    markup: `@page { size: ${PAGE[paper]}; margin: 14mm 14mm 16mm; ${PAGE_NUMBER} }${STYLE}`,
  };
  const policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:";
  const page = html`<!doctype html>
    <html lang="en">
      <head>
        <meta charset="utf-8" />
        <meta http-equiv="Content-Security-Policy" content="${policy}" />
        <title>${kind}: ${title}</title>
        <style>
          ${style}
        </style>
      </head>
      <body>
        <header>
          <h1>${title}</h1>
          <p>${kind}<br />printed ${printed}</p>
        </header>
        ${
          demo
            ? html`<p class="banner">
                Invented demo data: owner, makers, dates, hours and pictures are made up; the pictures are
                rendered. Nothing here was seen on a real stylus.
              </p>`
            : null
        }
        ${body}
        <footer>${footer}</footer>
      </body>
    </html> `;
  return page.markup;
}
