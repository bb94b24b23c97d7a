import { spawnSync } from 'node:child_process';
import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { findBrowser } from '../../electron/browser/find.ts';
import { browserPdfPrinter } from '../../electron/browser/pdf.ts';
import { sheetDocument } from '../../electron/host/sheet/document.ts';
import { profileFigure, tipWindow } from '../../electron/host/sheet/figures.ts';
import { dayText, hoursText, measured, notDetected } from '../../electron/host/sheet/format.ts';
import { escapeHtml, html } from '../../electron/host/sheet/html.ts';
import { sheetFileName } from '../../electron/host/sheet/make.ts';
import { comparisonNumbers, examinationNumbers, flatNumbers } from '../../electron/host/sheet/numbers.ts';
import { CAUTIONS } from '../../electron/host/sheet/words.ts';
import type { ComparisonAnswer, ExaminationAnswer, Mark } from '../../shared/index.ts';
import { DRAFT, addPicture, buildHost, picture, temporaryFolder, testHost } from './support.ts';
import { notRun } from '../not-run.ts';

const m = (value: number, expanded: number) => ({ value, expanded });
const pair = (value: number, detected: boolean) => ({
  baselineUm: m(0, 2),
  laterUm: m(value, 0.53),
  changeUm: m(value, 2.14),
  decisionThresholdUm: 4.4,
  detectionLimitUm: 5.04,
  detected,
});
const common = {
  ok: true as const,
  reportVersion: 1 as const,
  engineVersion: '0',
  suspicions: [],
  warnings: [],
  timingMs: 1,
};
const COMPARISON: ComparisonAnswer = {
  ...common,
  registration: { rotationDeg: -2.9, scaleRatio: 1, residualUm: 0.02 },
  sharpness: { baselineEdgeUm: 4.3, laterEdgeUm: 4.4 },
  tip: { radiusUm: m(17.66, 0.42), arcDeg: 68 },
  contour: {
    areaLostUm2: m(7.33, 0.75),
    areaGainedUm2: m(0, 0.3),
    largestRecessionUm: m(0.6354, 0.058),
    largestGrowthUm: m(0, 0.3),
  },
  flats: { left: pair(9.6209, true), right: pair(0, false) },
};

describe('text from people', () => {
  it('is text, wherever it stands', () => {
    const nasty = `</title><script>alert('1')</script> & "x"`;
    expect(html`<p title="${nasty}">${nasty}</p>`.markup).not.toContain('<script');
    expect(escapeHtml(nasty)).toBe(
      '&lt;/title&gt;&lt;script&gt;alert(&#39;1&#39;)&lt;/script&gt; &amp; &quot;x&quot;',
    );
    const page = sheetDocument({
      title: nasty,
      kind: 'Condition sheet',
      printed: 'today',
      demo: true,
      paper: 'A4',
      body: html`${nasty}`,
      footer: nasty,
    });
    expect(page).not.toContain('<script');
    expect(page).toContain('default-src &#39;none&#39;');
    expect(page).toContain('size: A4 portrait');
    expect(page).toContain('Invented demo data');
  });

  it('makes a harmless file name', () => {
    expect(sheetFileName('../../a "b" <c>:*?', '2024-01-01')).toBe('a-b-c-2024-01-01.pdf');
    expect(sheetFileName('...', '2024-01-01')).toBe('stylus-2024-01-01.pdf');
    expect(sheetFileName('Größe 黒', '2024-01-01')).toMatch(/^Gro.*黒-2024-01-01\.pdf$/);
  });
});

describe('numbers on paper', () => {
  it('carry their uncertainty, rounded together, and their unit without a break', () => {
    expect(measured(m(9.6209, 0.5332), 'µm')).toBe('9.62\u00A0±\u00A00.53\u00A0µm');
    expect(notDetected(5.04, 'µm')).toBe('not detected, below 5.1\u00A0µm');
    expect([hoursText(null), hoursText(505.0000003), hoursText(0.75)]).toEqual([
      'unknown',
      '505\u00A0h',
      '0.8\u00A0h',
    ]);
    expect(dayText('2025-06-19T20:55')).toBe('19\u00A0Jun\u00A02025');
  });

  it('never call what was not detected nothing', () => {
    const text = flatNumbers(COMPARISON).markup.replaceAll(/<[^>]+>|\s+/g, ' ');
    expect(text).toMatch(/left\s+not detected, below 5\.1.µm\s+9\.62.±.0\.53.µm\s+9\.6.±.2\.1.µm/);
    expect(text).toMatch(/right\s+not detected, below 5\.1.µm\s+not detected, below 5\.1.µm\s+none seen/);
    expect(comparisonNumbers(COMPARISON).markup).toContain('none found, uncertainty ±0.30\u00A0µm');
  });

  it('without a scale count in per cent and say so', () => {
    const text = flatNumbers({ ...COMPARISON, unit: 'percent-of-shank' }).markup;
    expect(text).toContain('No µm:');
    expect(text).not.toMatch(/\d.µm/);
  });

  it('ask for nothing that somebody has answered, and count damage in the unit of the report', () => {
    const chip = { kind: 'chip' as const, angleDeg: 98, sizeUm: 4.84, depthUm: 1.21 };
    const answered = (state: Mark['state'], angleDeg: number): Mark[] => [
      {
        id: 'mark00000001',
        stylusId: 'stylus000001',
        captureId: 'capture00001',
        view: 'front',
        kind: 'chip',
        state,
        frame: 'tip',
        unit: 'um',
        shape: { type: 'point', at: [0, 0] },
        size: null,
        note: '',
        seenBy: '',
        seenOn: '2024-01-01',
        proposed: { ...chip, angleDeg },
        createdAt: '2024-01-01T00:00:00Z',
        binnedAt: null,
      },
    ];
    const words = (marks: Mark[]): string =>
      flatNumbers({ ...COMPARISON, unit: 'percent-of-shank', suspicions: [chip] }, marks)
        .markup.replaceAll(/<[^>]+>|\s+/g, ' ')
        .replaceAll(/ +/g, ' ');
    const open = 'Suspected: a chip at 98° around the tip, 4.8 % of the shank long, 1.2 % of the shank deep.';
    expect(words([])).toContain(open);
    expect(words(answered('suspected', 97))).toContain(open);
    expect(words(answered('confirmed', 97))).toContain(
      'A chip at 98° around the tip, 4.8 % of the shank long',
    );
    expect(words(answered('confirmed', 97))).toContain('confirmed by whoever looked');
    expect(words(answered('rejected', 97))).not.toContain('chip');
    // Another place is another chip.
    expect(words(answered('rejected', 80))).toContain(open);
  });

  it('set left against right, within the uncertainty', () => {
    const single = (value: number) => ({
      widthUm: m(value, 0.8),
      decisionThresholdUm: 4,
      detectionLimitUm: 5,
      detected: true,
    });
    const report = (left: number, right: number): ExaminationAnswer => ({
      ...common,
      sharpness: { edgeUm: 4 },
      flats: { left: single(left), right: single(right) },
    });
    expect(examinationNumbers(report(12.5, 9.3)).markup).toMatch(/the left one is wider by 3\.2.±.1\.1.µm/);
    expect(examinationNumbers(report(9.3, 9.9)).markup).toContain('no difference beyond the uncertainty');
  });
});

describe('figures', () => {
  it('show the tip with the apex inside', () => {
    const window = tipWindow(18, 1000);
    expect(window.leftUm).toBeLessThan(-18);
    expect(window.topUm + window.heightPx * window.umPerPx).toBeGreaterThan(18 * 1.2);
  });

  it('draw the profile with left on the left', () => {
    const profile: [number, number, number][] = [
      [10, 0, 0.1],
      [45, 0.2, 0.1],
      [135, 0.6, 0.1],
      [170, 0, 0.1],
    ];
    const markup = profileFigure(profile, 'um')?.markup ?? '';
    const line = /d="(M[^"]+)" class="profile-line"/.exec(markup)?.[1] ?? '';
    const xs = [...line.matchAll(/[ML]([\d.]+) ([\d.]+)/g)].map((found) => [
      Number(found[1]),
      Number(found[2]),
    ]);
    expect(xs).toHaveLength(4);
    // 135 degrees is the left wall: further left than 45, and deeper means higher up in the plot.
    expect(xs[2][0]).toBeLessThan(xs[1][0]);
    expect(xs[2][1]).toBeLessThan(xs[1][1]);
    expect(profileFigure([], 'um')).toBeNull();
  });
});

describe('a sheet', () => {
  it('of a stylus without a comparison is a form for the deck, with cautions and what was not examined', async () => {
    buildHost();
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', { ...DRAFT, name: '<b>Odd</b> name', startHours: null });
    await addPicture(host, stylus.id, await picture());
    const { html: page } = await host.ask('sheet.html', {
      stylusId: stylus.id,
      comparisonId: null,
      paper: 'Letter',
    });
    expect(page).toContain('&lt;b&gt;Odd&lt;/b&gt; name');
    expect(page).toContain('letter portrait');
    expect(page).toContain('data:image/png;base64,');
    for (const words of [
      'The deck, by hand',
      'Not examined',
      'rendered pictures',
      'fit a new stylus',
      'has not been examined',
    ])
      expect(page).toContain(words);
    for (const caution of CAUTIONS) expect(page).toContain(escapeHtml(caution));
    expect(page).not.toContain('Invented demo data');
    expect(page).not.toMatch(/(src|href)="(?!data:)/);
    expect(page).toContain('Next look');
    const end = { id: stylus.id, date: '2024-05-01', reason: 'worn', successorId: null };
    await host.ask('stylus.retire', end);
    const sheet = { stylusId: stylus.id, comparisonId: null, paper: 'Letter' as const };
    const { html: retired } = await host.ask('sheet.html', sheet);
    expect(retired).toContain('nothing is due');
    expect(retired).not.toContain('Next look');
    await expect(
      host.ask('sheet.pdf', { stylusId: stylus.id, comparisonId: null, paper: 'A4' }),
    ).rejects.toThrow('no-printer');
    const unknown = { stylusId: stylus.id, comparisonId: 'a'.repeat(20), paper: 'A4' as const };
    await expect(host.ask('sheet.html', unknown)).rejects.toThrow('not-found');
  });

  it('becomes a PDF with real text', async () => {
    const browser = findBrowser();
    if (browser === null) return notRun('the sheet as a PDF', 'no Chromium, Chrome or Edge was found');
    const page = sheetDocument({
      title: 'Left-hand deck',
      kind: 'Condition sheet',
      printed: 'today',
      demo: false,
      paper: 'A4',
      body: html`${flatNumbers(COMPARISON)}`,
      footer: '',
    });
    const pdf = await browserPdfPrinter(browser)(page, 'A4');
    expect(Buffer.from(pdf.subarray(0, 5)).toString()).toBe('%PDF-');
    if (!existsSync('/usr/bin/pdftotext')) return notRun('the text in the PDF', 'pdftotext is not installed');
    const file = join(temporaryFolder(), 'sheet.pdf');
    writeFileSync(file, pdf);
    const { stdout } = spawnSync('/usr/bin/pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
    expect(stdout).toMatch(/Flat width, left\s+not detected, below 5\.1.µm\s+9\.62.±.0\.53.µm/);
    expect(stdout).not.toContain('file://');
  }, 60_000);
});
