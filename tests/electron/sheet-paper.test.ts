import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { findBrowser, quietSwitches } from '../../electron/browser/find.ts';
import { browserPdfPrinter } from '../../electron/browser/pdf.ts';
import { randomFrontPair } from '../../fixtures/render/front-random.ts';
import { demoCollection } from '../../fixtures/demo.ts';
import { renderCantilever } from '../../fixtures/render/cantilever.ts';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import { DECK_PARTS, type InputOf, type OfferDraft } from '../../shared/index.ts';
import { harmonicsFor, makeTone } from '../core/listening/signals.ts';
import { notRun } from '../not-run.ts';
import { addPicture, buildHost, DRAFT, picture, temporaryFolder, testHost } from './support.ts';
import type { TestHost } from './support.ts';
import { wavFile } from './sound/wav-file.ts';

/** What is on the screen is what is on paper: the preview's text and the text in the PDF, word for word. */
const browser = findBrowser();
const tools = ['/usr/bin/pdftotext', '/usr/bin/pdfinfo'];
const missing =
  browser === null ? 'no Chromium, Chrome or Edge was found' : tools.find((one) => !existsSync(one));

const words = (text: string): string[] =>
  text
    .replaceAll(/page \d+ of \d+/g, ' ')
    .replaceAll('\u00a0', ' ')
    .split(/\s+/)
    .filter(Boolean)
    .toSorted();

/** Text as a person sees it in the frame, drawings included; and the head of a table that may run on over the page. */
async function textOnScreen(html: string): Promise<{ text: string; head: string }> {
  const shown = await chromium.launch({
    executablePath: browser!,
    args: quietSwitches(join(temporaryFolder(), 'profile')).filter(
      (one) => !one.startsWith('--user-data-dir'),
    ),
  });
  try {
    const page = await shown.newPage();
    await page.setContent(html);
    return await page.evaluate(() => {
      const drawn = [...document.querySelectorAll('svg text')].map((one) => one.textContent).join(' ');
      for (const svg of document.querySelectorAll('svg')) svg.remove();
      const head = document.querySelector<HTMLElement>('.split thead')?.innerText ?? '';
      return { text: `${document.body.innerText} ${drawn}`, head };
    });
  } finally {
    await shown.close();
  }
}

/** Words of one list that the other has not, each as often as it has more of them. */
function beyond(list: readonly string[], other: readonly string[]): string[] {
  const left = new Map<string, number>();
  for (const word of other) left.set(word, (left.get(word) ?? 0) + 1);
  return list.filter((word) => {
    const count = left.get(word) ?? 0;
    left.set(word, count - 1);
    return count <= 0;
  });
}

/** DAYBOOK_LOOK names a folder: the PDFs go there, for somebody to look at. */
function keep(name: string, pdf: Uint8Array): string {
  const folder = process.env['DAYBOOK_LOOK'] ?? temporaryFolder();
  mkdirSync(folder, { recursive: true });
  const file = join(folder, `${name}.pdf`);
  writeFileSync(file, pdf);
  return file;
}

const run = (program: string, ...args: string[]): string =>
  spawnSync(program, args, { encoding: 'utf8' }).stdout;

async function expectPaperEqualsScreen(name: string, html: string, paper: 'A4' | 'Letter') {
  const file = keep(`${name}-${paper}`, await browserPdfPrinter(browser!)(html, paper));
  const text = run('/usr/bin/pdftotext', file, '-');
  const screen = await textOnScreen(html);
  const again = beyond(words(text), words(screen.text));
  const head = words(screen.head);
  // A table that runs on repeats its head, whole; nothing else may stand on paper that is not on the screen.
  const times = head.length === 0 ? 0 : Math.round(again.length / head.length);
  expect(again).toEqual(
    Array.from({ length: times }, () => head)
      .flat()
      .toSorted(),
  );
  expect(beyond(words(screen.text), words(text))).toEqual([]);
  const info = run('/usr/bin/pdfinfo', file);
  expect(info).toMatch(/Tagged:\s+yes/);
  expect(info).toMatch(paper === 'A4' ? /Page size:\s+59[45].* x 84[12]/ : /Page size:\s+612 x 792/);
  const pages = Number(/Pages:\s+(\d+)/.exec(info)?.[1]);
  for (let n = 1; n <= pages; n++) expect(text).toContain(`page ${n} of ${pages}`);
  return text;
}

async function everydayStylus(host: TestHost): Promise<string> {
  const stylus = await host.ask('stylus.create', {
    ...DRAFT,
    name: 'Everyday <stylus>, with a name that is a good deal longer than most names are',
    limitUm: 10,
    notes: 'Invented for this test.\nSecond line.',
  });
  const pair = randomFrontPair(72, {
    easy: true,
    flats: { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 10, laterRightUm: 6 },
  });
  const scale = { umPerPx: pair.truth.baseline.umPerPx, standardUmPerPx: null, source: 'typed' as const };
  const baseline = await addPicture(host, stylus.id, new Uint8Array(await encodeCapture(pair.baseline)), {
    isBaseline: true,
    scale,
  });
  const later = await addPicture(host, stylus.id, new Uint8Array(await encodeCapture(pair.later)), {
    scale: { ...scale, umPerPx: pair.truth.later.umPerPx },
    taken: { wall: '2025-03-01', offset: null, source: 'person' },
  });
  const played = { amount: 300, unit: 'hours' as const, minutesPerSide: 22, hours: 300, estimated: false };
  const stylusId = stylus.id;
  await host.ask('entry.add', { stylusId, kind: 'playing', date: '2024-12-01', played, text: '' });
  await host.ask('comparison.run', { baselineId: baseline.id, laterId: later.id, jobId: 'pair' });
  const mark: InputOf<'mark.add'>['draft'] = {
    stylusId,
    view: 'front',
    captureId: later.id,
    kind: 'bent-cantilever',
    state: 'confirmed',
    frame: 'picture',
    unit: 'px',
    shape: { type: 'point', at: [10, 12] },
    size: null,
    note: 'leans to the spindle',
    seenBy: 'the owner',
    seenOn: '2025-03-02',
    proposed: null,
  };
  await host.ask('mark.add', { draft: mark });
  const listening = { cleaning: 'after' as const, passageIds: [], heard: [], verdict: 'worse' as const };
  const text = 'After cleaning; splashing sibilants: new; on the whole worse than before.';
  await host.ask('entry.add', {
    stylusId,
    kind: 'listening',
    date: '2025-03-03',
    played: null,
    text,
    listening,
  });
  await host.ask('cause.answer', {
    stylusId,
    cause: 'dirt',
    answer: 'in-order',
    date: '2025-03-03',
    note: '',
  });
  const band = await host.ask('passage.add', {
    kind: 'tone',
    name: '1 kHz',
    place: '',
    groove: 'inner',
    toneHz: 1000,
    cutOn: 'both',
    notes: '',
  });
  for (const [thd, recordedOn] of [
    [0.005, '2024-03-01'],
    [0.015, '2025-03-03'],
  ] as const) {
    const channel = makeTone({
      sampleRate: 48_000,
      seconds: 2,
      hz: 1000,
      harmonics: harmonicsFor(thd),
      snrDb: 60,
    });
    const bytes = wavFile({ channels: [channel, channel.map((x) => 0.95 * x)] });
    const { token } = await host.ask('sound.offer', { fileName: 'band.wav', bytes });
    const facts = { token, stylusId, passageId: band.id, recordedOn, cleaning: 'none' as const, notes: '' };
    const { id } = await host.ask('recording.add', facts);
    await host.ask('recording.measure', { id, jobId: `band-${thd}` });
  }
  return stylusId;
}

const OFFER: OfferDraft = {
  title: 'Belt-driven deck <as found>',
  day: '2025-06-01',
  seller: 'flea market, stand 12',
  cartridge: 'moving magnet, maker not readable',
  price: 120,
  currency: 'EUR',
  checks: DECK_PARTS.map((part, i) => ({
    part,
    answer: (['in-order', 'not-done', 'doubtful', 'faulty'] as const)[i % 4],
    note: i % 3 === 0 ? 'seen by daylight' : '',
  })),
  statements: [
    { about: 'hours', said: 'hardly ever used', finding: 'platter mat worn shiny', verdict: 'contradicted' },
  ],
  costs: [
    { what: 'New stylus', amount: 60 },
    { what: 'Belt', amount: null },
  ],
  notes: '',
};

/** Points and bars of a new stylus stand at 0 h, beside the numbers of the axis and not over them. */
function expectBarsBesideNumbers(html: string): void {
  const chart = /<figure class="plot wear-chart">[\s\S]*?<\/svg>/.exec(html)?.[0] ?? '';
  const bars = [...chart.matchAll(/d="M([\d.]+) [^"]*"\s*class="error-bar"/g)].map(([, x]) => Number(x));
  const numbers = [...chart.matchAll(/<text x="([\d.]+)"[^>]*text-anchor="end">\d/g)].map(([, x]) =>
    Number(x),
  );
  expect(Math.min(bars.length, numbers.length)).toBeGreaterThan(1);
  // A point is 1.1 to each side of its bar.
  expect(Math.min(...bars) - 1.1).toBeGreaterThan(Math.max(...numbers) + 2);
}

describe('sheets on paper', () => {
  it('of a stylus say on paper what the screen says, with marks, chart, listening, advice and hashes', async () => {
    if (missing !== undefined) return notRun('the stylus sheet on paper', missing);
    buildHost();
    const host = await testHost(temporaryFolder());
    const stylusId = await everydayStylus(host);
    for (const paper of ['A4', 'Letter'] as const) {
      const { html } = await host.ask('sheet.html', { stylusId, comparisonId: null, paper });
      const text = (await expectPaperEqualsScreen('stylus', html, paper)).replaceAll(/\s+/g, ' ');
      for (const part of [
        'Advice: take it off now',
        'You confirmed a bent cantilever: playing ends here.',
        'Marked by whoever looked',
        'Wear against hours',
        'Listening',
        'THD, 2nd to 5th harmonic',
        'Other causes, ruled out or not',
        'Not examined',
        'Originals, by their SHA-256',
        'measuring engine',
      ])
        expect(text).toContain(part);
      expectBarsBesideNumbers(html);
      const page = await host.ask('stylus.page', { id: stylusId });
      for (const { sha256 } of page.captures) expect(text).toContain(sha256);
    }
  }, 240_000);

  it('of a used turntable need no earlier picture, and advise a new stylus', async () => {
    if (missing !== undefined) return notRun('the sheet of a used turntable on paper', missing);
    buildHost();
    const host = await testHost(temporaryFolder());
    const offer = await host.ask('offer.create', OFFER);
    const empty = await host.ask('offer.html', { id: offer.id, paper: 'A4' });
    expect(empty.html).toContain('No picture was taken.');
    // A sum of nothing but unknown figures is no zero.
    const unpriced = { ...OFFER, price: null, costs: [{ what: 'New stylus', amount: null }] };
    const { id: bare } = await host.ask('offer.create', unpriced);
    const { html: noPrice } = await host.ask('offer.html', { id: bare, paper: 'A4' });
    expect(noPrice.replaceAll(/<[^>]+>|\s+/g, ' ')).toMatch(/Together, 2 without a figure\s+not known/);
    const front = randomFrontPair(73, { easy: true }).later;
    const shot = await addPicture(host, offer.stylusId, new Uint8Array(await encodeCapture(front)));
    const plain = await host.ask('offer.html', { id: offer.id, paper: 'A4' });
    expect(plain.html).toContain('As it was taken.');
    expect(plain.html).toContain('This picture has not been examined.');
    await host.ask('capture.examine', { id: shot.id, jobId: 'front' });
    await addPicture(host, offer.stylusId, await picture(), { view: 'side' });
    for (const paper of ['A4', 'Letter'] as const) {
      const { html } = await host.ask('offer.html', { id: offer.id, paper });
      const text = (await expectPaperEqualsScreen('offer', html, paper)).replaceAll(/\s+/g, ' ');
      for (const part of [
        'Fit a new stylus before a record is played.',
        'Do not plug it in yet.',
        'Left against right',
        'hardly ever used',
        'contradicted',
        'Together, 1 without a figure',
        '180 EUR',
        'the deck: voltage and frequency',
      ])
        expect(text).toContain(part);
      expect(html).not.toContain('<as found>');
    }
  }, 180_000);

  it('of a used turntable with a side picture alone call it a cantilever, and the tip not measured', async () => {
    buildHost();
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const bent = renderCantilever(
      demoCollection().captures.flatMap(({ key, recipe }) =>
        key === 'knocked-side-90' && recipe.kind === 'cantilever' ? [recipe.spec] : [],
      )[0],
    );
    const { id } = await addPicture(host, stylus.id, new Uint8Array(await encodeCapture(bent)), {
      view: 'side',
    });
    await host.ask('capture.cantilever', { id, jobId: 'side' });
    const sheet = { stylusId: stylus.id, comparisonId: null, paper: 'A4' } as const;
    const { html } = await host.ask('sheet.html', sheet);
    expect(html).toContain('One picture, without a baseline');
    expect(html).toMatch(/<strong>Cantilever\.<\/strong>/);
    expect(html).toContain('The tip was not measured: there is no front picture.');
    expect(html).not.toContain('has not been examined');
  }, 120_000);
});
