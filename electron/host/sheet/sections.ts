import type { HoursFigure } from '../../../core/wear/index.ts';
import type { Capture, Comparison, Entry, Stylus, StylusPage } from '../../../shared/index.ts';
import { dayText, datedText, grouped, hoursText, lengthUnit, measured, notDetected } from './format.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';
import { CAUTIONS, DECK_CHECKS, NOT_EXAMINED, WORTH } from './words.ts';

/** Minutes a side where the person has said nothing else (common practice, no source). */
const USUAL_MINUTES = 22;

const fact = (name: string, value: string | null): Markup | null =>
  value === null || value === ''
    ? null
    : html`<div>
        <dt>${name}</dt>
        <dd>${value}</dd>
      </div>`;

function played(stylus: Stylus, figure: HoursFigure): string {
  if (!figure.known) return 'unknown history: common practice is to fit a new stylus';
  const { hours, standard, kilometres } = figure;
  const total = standard < 0.01 ? hoursText(hours) : measured({ value: hours, expanded: 2 * standard }, 'h');
  const side = stylus.minutesPerSide ?? USUAL_MINUTES;
  const records = grouped((hours * 60) / (2 * side));
  return `${total}, about ${records}\u00A0records of two ${side}\u00A0min sides or ${grouped(kilometres)}\u00A0km of groove`;
}

function radii(stylus: Stylus): string | null {
  if (stylus.radiusUm === null) return null;
  const side = stylus.sideRadiusUm === null ? '' : `, side radius ${stylus.sideRadiusUm}\u00A0µm`;
  return `${stylus.radiusUm}\u00A0µm${side} (as stated by the seller)`;
}

export function identity({ stylus }: StylusPage, figure: HoursFigure): Markup {
  return html`<dl class="facts">
    ${fact('Cartridge', stylus.cartridge)} ${fact('Profile', stylus.profile)} ${fact('Deck', stylus.deck)}
    ${fact('Tip radius', radii(stylus))}
    ${fact('In use since', stylus.startDate === null ? null : dayText(stylus.startDate))}
    ${fact('Played', played(stylus, figure))}
    ${fact('Rated by its maker or seller', stylus.ratedHours === null ? null : hoursText(stylus.ratedHours))}
    ${fact('Owner’s own limit for a flat', stylus.limitUm === null ? null : `${stylus.limitUm}\u00A0µm`)}
    ${fact('Retired', stylus.retired === null ? null : `${dayText(stylus.retired.date)}: ${stylus.retired.reason}`)}
    ${
      stylus.notes === ''
        ? null
        : html`<div class="whole">
            <dt>Notes</dt>
            <dd>${stylus.notes}</dd>
          </div>`
    }
  </dl>`;
}

const scaleText = ({ scale }: Capture): string =>
  scale === null ? 'no scale' : `${Number(scale.umPerPx.toPrecision(4))}\u00A0µm per pixel`;

/** What stands under a picture; the beginning of the hash names the file in the collection. */
export function caption(capture: Capture, title: string): Markup {
  return html`<figcaption>
    <strong>${title}</strong> ${datedText(capture.taken)}, ${capture.view} view,
    ${scaleText(capture)}${capture.microscope === '' ? '' : `, ${capture.microscope}`}. Original
    ${capture.sha256.slice(0, 12)}
  </figcaption>`;
}

function flatsCell(comparison: Comparison): Markup {
  const { report } = comparison;
  if (!report.ok) return html`<td colspan="2">no answer: ${report.reason.message}</td>`;
  const unit = lengthUnit(report.unit ?? 'um');
  return html`${[report.flats.left, report.flats.right].map(
    (flat) =>
      html`<td>
        ${flat.detected ? measured(flat.laterUm, unit) : notDetected(flat.detectionLimitUm, unit)}
      </td>`,
  )}`;
}

/** Every comparison of the stylus in one table: flat widths beside the hours. */
export function history(page: StylusPage): Markup | null {
  if (page.comparisons.length === 0) return null;
  const captureOf = (id: string) => page.captures.find((capture) => capture.id === id);
  return html`<h2>Flat widths beside the hours</h2>
    <table class="numbers">
      <thead>
        <tr>
          <th scope="col">Picture of</th>
          <th scope="col">Hours</th>
          <th scope="col">Flat, left</th>
          <th scope="col">Flat, right</th>
        </tr>
      </thead>
      <tbody>
        ${page.comparisons.map(
          (comparison) =>
            html`<tr>
              <th scope="row">${datedText(captureOf(comparison.laterId)?.taken ?? null)}</th>
              <td>${hoursText(comparison.hoursAtLater)}</td>
              ${flatsCell(comparison)}
            </tr>`,
        )}
      </tbody>
    </table>`;
}

const KINDS: Readonly<Record<Entry['kind'], string>> = {
  playing: 'Played',
  cleaning: 'Cleaned',
  listening: 'Listened',
  'set-up': 'Set-up',
  note: 'Note',
  decision: 'Decided',
  replacement: 'Replaced',
};

/** Entries that are printed; more plays than that are summed, or they would drive everything else off the paper. */
const LAST_ENTRIES = 12;

function entryText({ played: time, text }: Entry): string {
  if (time === null) return text;
  const inHours = time.unit === 'hours' ? '' : `, ${hoursText(time.hours)}`;
  const count = Number(time.amount.toFixed(1));
  const amount = `${count} ${count === 1 ? time.unit.slice(0, -1) : time.unit}${inHours}${time.estimated ? ' (estimated)' : ''}`;
  return text === '' ? amount : `${amount}. ${text}`;
}

/** `plays`: at least one, the oldest first. */
function playsText(plays: readonly Entry[]): string {
  const hours = plays.reduce((sum, { played: time }) => sum + (time?.hours ?? 0), 0);
  const [first, last] = [plays[0], plays.at(-1)!];
  return `${grouped(plays.length)} entries of playing time from ${dayText(first.date)} to ${dayText(last.date)}, ${hoursText(hours)} together, are not printed one by one.`;
}

export function timeline(page: StylusPage): Markup | null {
  if (page.entries.length === 0) return null;
  const plays = page.entries.filter((entry) => entry.kind === 'playing');
  const summed = plays.length > LAST_ENTRIES;
  const told = summed ? page.entries.filter((entry) => entry.kind !== 'playing') : page.entries;
  const shown = told.slice(-LAST_ENTRIES);
  const left = told.length - shown.length;
  return html`<h2>From the daybook</h2>
    <table class="numbers">
      <tbody>
        ${shown.map(
          (entry) =>
            html`<tr>
              <th scope="row">${dayText(entry.date)}</th>
              <td>${KINDS[entry.kind]}</td>
              <td class="wide">${entryText(entry)}</td>
            </tr>`,
        )}
      </tbody>
    </table>
    ${summed ? html`<p class="small">${playsText(plays)}</p>` : null}
    ${left > 0 ? html`<p class="small">${left} earlier entries are not printed.</p>` : null}`;
}

const list = (lines: readonly string[]): Markup =>
  html`<ul>
    ${lines.map((line) => html`<li>${line}</li>`)}
  </ul>`;

export const worth = (): Markup =>
  html`<h2>What these numbers are worth</h2>
    ${list(WORTH)}`;

export const cautions = (): Markup =>
  html`<section class="cautions">
    <h2>Cautions</h2>
    ${list(CAUTIONS)}
  </section>`;

/** `done`: beginnings of sentences that do not hold for this sheet, because it was looked into. */
export function notExamined(missing: readonly string[], done: readonly string[] = []): Markup {
  const usual = NOT_EXAMINED.filter((one) => !done.some((start) => one.startsWith(start)));
  return html`<h2>Not examined</h2>
    <div class="columns">${list([...missing, ...usual])}</div>`;
}

/** To be filled in by hand beside the deck. */
export function deckForm({ price, currency }: Stylus): Markup {
  const asked = price === null ? '' : `${price} ${currency}`;
  return html`<section class="form">
    <h2>The deck, by hand</h2>
    <table class="numbers checks">
      <thead>
        <tr>
          <th scope="col">Check</th>
          <th scope="col">Yes</th>
          <th scope="col">No</th>
          <th scope="col">Not done</th>
        </tr>
      </thead>
      <tbody>
        ${DECK_CHECKS.map(
          (check) =>
            html`<tr>
              <th scope="row">${check}</th>
              <td>☐</td>
              <td>☐</td>
              <td>☐</td>
            </tr>`,
        )}
      </tbody>
    </table>
    <dl class="facts blanks">
      <div>
        <dt>Price noted for the stylus</dt>
        <dd>${asked}</dd>
      </div>
      <div>
        <dt>Price asked for the deck</dt>
        <dd></dd>
      </div>
      <div>
        <dt>Cost of a new stylus</dt>
        <dd></dd>
      </div>
      <div>
        <dt>Offer</dt>
        <dd></dd>
      </div>
    </dl>
  </section>`;
}
