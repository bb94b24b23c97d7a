import { ENGINE_VERSION } from '../../../core/version.ts';
import { Refusal } from '../../../shared/index.ts';
import type {
  Capture,
  Comparison,
  ComparisonAnswer,
  ListeningPage,
  Mark,
  Pose,
  StylusPage,
} from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { originalOf } from '../measuring.ts';
import type { ShownPicture } from '../pictures/inspect.ts';
import { stylusPage } from '../store/styluses.ts';
import { USUAL_BAND } from '../evidence.ts';
import { adviceOn } from '../advice.ts';
import { ledgerOf, todayHere } from '../store/hours.ts';
import { listeningPage } from '../store/listening.ts';
import { courseOf } from '../wear/course.ts';
import { adviceBlock, causesTable } from './advice.ts';
import { sheetDocument } from './document.ts';
import { dataUri, overlayFigure, profileFigure, tipWindow } from './figures.ts';
import { dayText } from './format.ts';
import { hashTable } from './hashes.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';
import { cantileverBudgets, comparisonBudgets, examinationBudgets } from './budgets.ts';
import { cantileverNumbers, comparisonNumbers, examinationNumbers, flatNumbers } from './numbers.ts';
import { listeningPart } from './listening.ts';
import { markTable } from './marks.ts';
import { wearChart } from './wear-chart.ts';
import { caption, cautions, deckForm, history, identity, notExamined, timeline, worth } from './sections.ts';

export type Sheet = { readonly html: string; readonly fileName: string };

/** 300 dots per inch on half a sheet's width. */
const PICTURE_EDGE_PX = 1000;
const OVERLAY_WIDTH_PX = 1000;
const LIMIT_MS = 45_000;

async function shown(context: Context, capture: Capture): Promise<ShownPicture> {
  const job = { source: originalOf(context, capture), maxEdgePx: PICTURE_EDGE_PX };
  const outcome = await context.pictures.run('show', job, { timeLimitMs: LIMIT_MS });
  if (!outcome.ok) throw new Refusal(outcome.reason.code, outcome.reason.message);
  return outcome.value;
}

export async function captureFigure(context: Context, capture: Capture, title: string): Promise<Markup> {
  const picture = await shown(context, capture);
  return html`<figure><img src="${dataUri(picture)}" alt="${title}" />${caption(capture, title)}</figure>`;
}

/** Marks made on one picture. */
export const marksOn = (page: StylusPage, capture: Capture): readonly Mark[] =>
  page.marks.filter((mark) => mark.captureId === capture.id);

/** One picture of a pair in the common tip frame: tip down, the same window and scale for both, in grey. */
async function registeredFigure(
  context: Context,
  capture: Capture,
  pose: Pose,
  radiusUm: number,
  title: string,
): Promise<Markup> {
  const source = originalOf(context, capture);
  const job = {
    baseline: source,
    later: source,
    baselinePose: pose,
    laterPose: pose,
    window: tipWindow(radiusUm, OVERLAY_WIDTH_PX),
  };
  const outcome = await context.pictures.run('overlay', job, { timeLimitMs: LIMIT_MS });
  if (!outcome.ok) throw new Refusal(outcome.reason.code, outcome.reason.message);
  return html`<figure>
    <img src="${dataUri(outcome.value)}" alt="${title}" />${caption(capture, title)}
  </figure>`;
}

/** Caption of a picture on which no tip is drawn. */
function asTakenTitle({ examination, cantilever }: Capture): string {
  if (examination !== null) return 'Examined.';
  return cantilever === null ? 'As it was taken.' : 'Cantilever.';
}

/** What was read of the tip in a picture that has no earlier one to be compared with, or why nothing was. */
export function tipNumbers(page: StylusPage, capture: Capture): Markup {
  const { examination, view } = capture;
  if (examination !== null)
    return html`${examinationNumbers(examination, marksOn(page, capture))}${examinationBudgets(examination)}`;
  return view === 'front' || view === 'end-on'
    ? html`<p>This picture has not been examined.</p>`
    : html`<p>The tip was not measured: there is no front picture.</p>`;
}

/** An examined tip as large as the pair's, tip down; where no tip was found, the picture as it was taken. */
export async function examinedFigure(context: Context, capture: Capture): Promise<Markup> {
  const report = capture.examination;
  if (report?.ok !== true || report.drawing === undefined || report.tip === undefined)
    return captureFigure(context, capture, asTakenTitle(capture));
  const { pose } = report.drawing;
  return registeredFigure(context, capture, pose, report.tip.radiusUm.value, 'Examined, tip down.');
}

/** Both pictures of a pair, laid into one frame where the comparison knows it, else as they were taken. */
async function pairFigures(
  context: Context,
  baseline: Capture,
  later: Capture,
  report: Comparison['report'],
): Promise<Markup> {
  const drawing = report.ok ? report.drawing : undefined;
  if (!report.ok || drawing === undefined)
    return html`<div class="figures">
      ${await captureFigure(context, baseline, 'Baseline.')}${await captureFigure(context, later, 'Later.')}
    </div>`;
  const radius = report.tip.radiusUm.value;
  return html`<div class="figures">
    ${await registeredFigure(context, baseline, drawing.baselinePose, radius, 'Baseline. Registered, tip down.')}
    ${await registeredFigure(context, later, drawing.laterPose, radius, 'Later. Registered, tip down.')}
  </div>`;
}

async function overlay(
  context: Context,
  baseline: Capture,
  later: Capture,
  report: ComparisonAnswer,
): Promise<Markup | null> {
  const { drawing } = report;
  if (drawing === undefined) return null;
  const window = tipWindow(report.tip.radiusUm.value, OVERLAY_WIDTH_PX);
  const job = {
    baseline: originalOf(context, baseline),
    later: originalOf(context, later),
    baselinePose: drawing.baselinePose,
    laterPose: drawing.laterPose,
    window,
  };
  const outcome = await context.pictures.run('overlay', job, { timeLimitMs: LIMIT_MS });
  if (!outcome.ok) throw new Refusal(outcome.reason.code, outcome.reason.message);
  const unit = report.unit ?? 'um';
  const profile = profileFigure(drawing.profile, unit);
  const over = html`<figure>
    ${overlayFigure(outcome.value, drawing, window, unit)}
    <figcaption>
      <strong>Laid over each other</strong>, tip down. Orange (light in grey): baseline only, material gone.
      Blue (dark): later only, something added. Solid outline: baseline; dashed: later.
    </figcaption>
  </figure>`;
  if (profile === null) return html`<div class="figures">${over}</div>`;
  return html`<div class="figures">
    ${over}
    <figure class="plot">
      ${profile}
      <figcaption>
        <strong>Recession profile</strong> around the tip, 90° at the apex: material gone upwards, something
        added downwards; grey: expanded uncertainty.
      </figcaption>
    </figure>
  </div>`;
}

async function comparisonBody(context: Context, page: StylusPage, comparison: Comparison): Promise<Markup> {
  const find = (id: string): Capture =>
    [...page.captures, ...page.siblings].find((capture) => capture.id === id)!;
  const baseline = find(comparison.baselineId);
  const later = find(comparison.laterId);
  const { report } = comparison;
  const pictures = await pairFigures(context, baseline, later, report);
  if (!report.ok)
    return html`<h2>Flat widths</h2>
      <p><strong>No answer.</strong> ${report.reason.message}</p>
      ${pictures}${singles(page)}${history(page)}`;
  return html`<h2>Flat widths</h2>
    ${flatNumbers(report, marksOn(page, later))}${pictures}${await overlay(context, baseline, later, report)}
    <h2>Also measured</h2>
    ${comparisonNumbers(report)}${comparisonBudgets(report)}${singles(page)}${history(page)}`;
}

/** Results on single pictures that belong on every sheet: the cantilever, end-on facets. */
function singles(page: StylusPage): Markup {
  const newest = (test: (capture: Capture) => boolean) => page.captures.findLast(test);
  const bent = newest((capture) => capture.cantilever !== null);
  const before = page.captures.findLast(
    (capture) => capture.isBaseline && capture.view === bent?.view && capture.id !== bent.id,
  );
  const endOn = newest((capture) => capture.view === 'end-on' && capture.examination !== null);
  const head = (title: string, capture: Capture): Markup =>
    html`<h2>${title}, ${capture.taken === null ? 'date unknown' : dayText(capture.taken.wall)}</h2>`;
  return html`${bent?.cantilever ? html`${head('Cantilever', bent)}${cantileverNumbers(bent.cantilever, before?.cantilever ?? null, marksOn(page, bent))}${cantileverBudgets(bent.cantilever)}` : null}
  ${endOn?.examination ? html`${head('Seen end-on', endOn)}${examinationNumbers(endOn.examination, marksOn(page, endOn))}${examinationBudgets(endOn.examination, 'the patches’')}` : null}`;
}

/** No baseline to compare with: one picture, left against right, and a form for the deck it is fitted to. */
async function singleBody(context: Context, page: StylusPage): Promise<Markup> {
  const main = page.captures.findLast((capture) => capture.view === 'front') ?? page.captures.at(-1);
  const side = page.captures.findLast((capture) => capture.view === 'side' && capture !== main);
  if (main === undefined)
    return html`<p><strong>No picture yet.</strong> Nothing was measured.</p>
      ${deckForm(page.stylus)}`;
  const pictures = [
    await examinedFigure(context, main),
    side ? await captureFigure(context, side, 'Side.') : null,
  ];
  const measured = main.examination !== null;
  return html`<h2>${measured ? 'Measured on one picture' : 'One picture'}, without a baseline</h2>
    <div class="figures">${pictures}</div>
    ${tipNumbers(page, main)}
    <p>
      Without an earlier picture of the same stylus nobody can tell how fast it wears, or whether a small flat
      was there from the start.
    </p>
    ${singles(page)}${deckForm(page.stylus)}`;
}

function missingViews(page: StylusPage): string[] {
  const missing: string[] = [];
  const examined = (test: (capture: Capture) => boolean) => page.captures.some(test);
  if (!examined((capture) => capture.cantilever !== null))
    missing.push('the cantilever: no side picture was measured');
  if (!examined((capture) => capture.view === 'end-on' && capture.examination?.ok === true))
    missing.push('the tip end-on: no such picture was measured');
  return missing;
}

/** Usual sentences about what was not examined that do not hold here. */
function lookedInto(page: StylusPage, heard: ListeningPage): string[] {
  const listened = page.entries.some((entry) => entry.kind === 'listening') || heard.recordings.length > 0;
  const setUp = heard.causes
    .filter((one) => ['alignment', 'tracking-force', 'anti-skating'].includes(one.cause))
    .every((one) => one.answer !== 'not-checked');
  return [...(listened ? ['how it sounds'] : []), ...(setUp ? ['alignment, tracking force'] : [])];
}

function chosen(page: StylusPage, comparisonId: string | null): Comparison | undefined {
  if (comparisonId === null)
    return page.comparisons.findLast((comparison) => comparison.report.ok) ?? page.comparisons.at(-1);
  const found = page.comparisons.find((comparison) => comparison.id === comparisonId);
  if (found === undefined) throw new Refusal('not-found', 'That comparison is not on this stylus.');
  return found;
}

export function sheetFileName(name: string, day: string): string {
  const safe = name
    .normalize('NFKD')
    .replaceAll(/[^\p{L}\p{N}]+/gu, '-')
    .replaceAll(/^-+|-+$/g, '')
    .slice(0, 60);
  return `${safe === '' ? 'stylus' : safe}-${day}.pdf`;
}

export const today = todayHere;

export async function makeSheet(
  context: Context,
  stylusId: string,
  comparisonId: string | null,
  paper: 'A4' | 'Letter',
  hoursBand: readonly [number, number] = USUAL_BAND,
): Promise<Sheet> {
  const { db } = context.collection;
  const page = stylusPage(db, stylusId);
  const comparison = chosen(page, comparisonId);
  const day = today();
  const main = comparison ? await comparisonBody(context, page, comparison) : await singleBody(context, page);
  const heard = listeningPage(db, stylusId);
  const course = courseOf(db, stylusId, { today: day, practiceHours: hoursBand });
  const advice = adviceBlock(adviceOn(db, stylusId, hoursBand), page.stylus.retired !== null);
  const body = html`${identity(page, ledgerOf(db, stylusId, day).ledger.at(null))}${advice}${main}${markTable(page)}${wearChart(db, page, course)}
  ${listeningPart(heard, page.entries)}${causesTable(heard.causes)}${timeline(page)}
  ${notExamined(missingViews(page), lookedInto(page, heard))}${worth()}${cautions()}${hashTable(page.captures, heard.recordings)}`;
  const document = sheetDocument({
    title: page.stylus.name,
    kind: comparison ? 'Condition sheet' : 'Condition sheet, single examination',
    printed: dayText(day),
    demo: page.stylus.demo,
    paper,
    body,
    footer: `Made by Stylus Daybook ${context.version}, measuring engine ${comparison?.engineVersion ?? ENGINE_VERSION}.`,
  });
  return { html: document, fileName: sheetFileName(page.stylus.name, day) };
}
