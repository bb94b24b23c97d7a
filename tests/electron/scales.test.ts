import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { spawnSync } from 'node:child_process';
import { beforeAll, describe, expect, it } from 'vitest';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import { randomRuledSlideSpec, renderRuledSlide } from '../../fixtures/render/ruled-slide.ts';
import { slideReportSchema, type InputOf, type SlideAnswer } from '../../shared/index.ts';
import { DRAFT, addPicture, buildHost, picture, root, temporaryFolder, testHost } from './support.ts';
import type { TestHost } from './support.ts';

/** Scales from ruled slides as the window and the command line get them, and the cards that keep them. */
type SlideFile = { readonly bytes: Uint8Array<ArrayBuffer>; readonly umPerPx: number };

async function slideFile(seed: number, rotationDeg: number, pixelAspect = 1): Promise<SlideFile> {
  const base = randomRuledSlideSpec(seed, { pitchUm: 100 });
  const spec = {
    ...base,
    pixelAspect,
    widthPx: 800,
    heightPx: 600,
    umPerPx: 2.5,
    lineWidthUm: 20,
    missing: [],
    pose: { originXPx: 398.3, originYPx: 301.2, rotationDeg },
  };
  const rendered = renderRuledSlide(spec);
  return {
    bytes: new Uint8Array(await encodeCapture(rendered)),
    umPerPx: rendered.truth.pitchUm / rendered.truth.pitchPx,
  };
}

let slide: SlideFile;
let turned: SlideFile;
beforeAll(async () => {
  buildHost();
  [slide, turned] = await Promise.all([slideFile(12, 10, 1.012), slideFile(12, 85, 1.012)]);
}, 120_000);

const measuring = (part: Pick<InputOf<'scale.measure'>, 'picture'>): InputOf<'scale.measure'> => ({
  pitchUm: 100,
  pitchRelativeStandard: 0.0002,
  against: null,
  jobId: 'slide',
  ...part,
});

async function offer(host: TestHost, bytes: Uint8Array, fileName = 'slide.png') {
  return host.ask('picture.offer', { fileName, bytes: new Uint8Array(bytes) });
}

async function measured(host: TestHost, token: string): Promise<SlideAnswer> {
  const report = await host.ask('scale.measure', measuring({ picture: { token } }));
  if (!report.ok) throw new Error(report.reason.message);
  return report;
}

const cardDraft = (report: SlideAnswer): InputOf<'scale.keep'>['draft'] => ({
  microscope: 'Bench microscope',
  frameWidthPx: report.widthPx,
  frameHeightPx: report.heightPx,
  resizeMode: null,
  zoom: null,
  focus: null,
  scale: {
    umPerPx: report.scaleUmPerPx.value,
    standardUmPerPx: report.standardUmPerPx,
    source: 'ruled-slide',
  },
  taken: null,
  notes: '',
});

describe('a scale from a ruled slide', () => {
  it('is measured from a picture that was only offered, with the lines for drawing', async () => {
    const host = await testHost(temporaryFolder());
    const { token } = await offer(host, slide.bytes);
    const report = await measured(host, token);
    const error = report.scaleUmPerPx.value - slide.umPerPx;
    expect(Math.abs(error)).toBeLessThan(Math.max(0.0005 * slide.umPerPx, report.scaleUmPerPx.expanded));
    expect(report.lines.used).toBe(report.drawing.lines.length);
    expect(report.lines.used).toBeGreaterThan(10);
    // The drawn lines stand apart by the pitch, square to themselves, inside the picture.
    for (const [, x1, y1, x2, y2] of report.drawing.lines) {
      const along = (Math.atan2(y2 - y1, x2 - x1) * 180) / Math.PI;
      expect(Math.abs(Math.cos(((along + report.acrossDeg) * Math.PI) / 180))).toBeLessThan(0.01);
    }
    const [first, last] = [report.drawing.lines[0], report.drawing.lines.at(-1)!];
    const c = Math.cos((report.acrossDeg * Math.PI) / 180);
    const s = -Math.sin((report.acrossDeg * Math.PI) / 180);
    const apart = Math.abs((last[1] - first[1]) * c + (last[2] - first[2]) * s);
    expect((last[0] - first[0]) * 100).toBeCloseTo(apart * slide.umPerPx, 0);
    expect(report.warnings.map((warning) => warning.code)).not.toContain('lines-bend');
  }, 60_000);

  it('of a second, turned picture tells that the pixels are not square', async () => {
    const host = await testHost(temporaryFolder());
    const first = await measured(host, (await offer(host, slide.bytes)).token);
    const second = await offer(host, turned.bytes);
    const against = {
      umPerPx: first.scaleUmPerPx.value,
      standardUmPerPx: first.standardUmPerPx,
      acrossDeg: first.acrossDeg,
    };
    const input = measuring({ picture: { token: second.token } });
    const both = await host.ask('scale.measure', { ...input, against });
    if (!both.ok) throw new Error(both.reason.message);
    expect(both.pixelShape?.square).toBe(false);
    expect(both.pixelShape?.aspect).toBeCloseTo(1.012, 3);
    expect(both.warnings.map((warning) => warning.code)).toContain('pixels-not-square');
    // The same picture again is not turned: nothing is claimed, and that is said.
    const same = await host.ask('scale.measure', {
      ...input,
      against: { ...against, acrossDeg: both.acrossDeg, umPerPx: both.scaleUmPerPx.value },
    });
    expect(same.ok && same.pixelShape).toBeNull();
    expect(same.ok && same.warnings.map((warning) => warning.code)).toContain('not-turned');
  }, 60_000);

  it('is refused with a sentence where there is no ruling, and may be cancelled', async () => {
    const host = await testHost(temporaryFolder());
    const { token } = await offer(host, await picture(40));
    const report = await host.ask('scale.measure', measuring({ picture: { token } }));
    expect(report.ok ? 'answered' : report.reason.message).toMatch(/lines/);
    const other = await offer(host, slide.bytes);
    const running = host.call('scale.measure', measuring({ picture: { token: other.token } }));
    await host.ask('job.cancel', { jobId: 'slide' });
    expect(await running).toMatchObject({ ok: false, error: { code: 'cancelled' } });
    // It is still there to be measured again.
    expect((await measured(host, other.token)).ok).toBe(true);
  }, 60_000);

  it('is kept on a card with its picture, and the card survives a restart, an edit and the bin', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const { token } = await offer(host, slide.bytes);
    const report = await measured(host, token);
    const card = await host.ask('scale.keep', {
      draft: cardDraft(report),
      picture: { token },
      slide: report,
    });
    expect(card.picture?.fileName).toBe('slide.png');
    await host.close();
    const again = await testHost(folder);
    expect(await again.ask('scale.cards', {})).toEqual([card]);
    const shown = await again.ask('picture.show', { picture: { cardId: card.id }, maxEdgePx: 200 });
    expect([shown.widthPx, shown.heightPx]).toEqual([200, 150]);
    // Measured again from the card's own picture: the same to the last digit.
    const remade = await again.ask('scale.measure', measuring({ picture: { cardId: card.id } }));
    expect(remade.ok && remade.scaleUmPerPx.value).toBe(report.scaleUmPerPx.value);
    const { scale, ...rest } = cardDraft(report);
    await again.ask('scale.change', {
      id: card.id,
      draft: { ...rest, scale, zoom: 2, notes: 'second stop' },
    });
    expect((await again.ask('scale.cards', {}))[0]).toMatchObject({
      zoom: 2,
      notes: 'second stop',
      slide: report,
    });
    // A scale typed over it no longer rests on the slide.
    const typed = await again.ask('scale.change', {
      id: card.id,
      draft: { ...rest, scale: { umPerPx: 9, standardUmPerPx: null, source: 'typed' } },
    });
    expect([typed.slide, typed.scale.source]).toEqual([null, 'typed']);
    await again.ask('bin.put', { kind: 'scale-card', id: card.id });
    expect(await again.ask('scale.cards', {})).toEqual([]);
    await again.ask('bin.takeBack', { kind: 'scale-card', id: card.id });
    expect(await again.ask('scale.cards', {})).toHaveLength(1);
  }, 60_000);
});

describe('a picture with a scale from a card', () => {
  it('keeps it while microscope, frame, zoom and focus agree, and loses it with a reason when one differs', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const draft = {
      microscope: 'Bench microscope',
      frameWidthPx: 64,
      frameHeightPx: 48,
      resizeMode: null,
      zoom: 2,
      focus: null,
      scale: { umPerPx: 1.25, standardUmPerPx: 0.001, source: 'two-points' as const },
      taken: null,
      notes: '',
    };
    const card = await host.ask('scale.keep', { draft, picture: null, slide: null });
    const scale = { ...draft.scale, card: { id: card.id, zoom: 2, focus: null } };
    const bytes = await picture(40);
    const kept = await addPicture(host, stylus.id, bytes, { scale, microscope: 'bench microscope ' });
    expect([kept.scale, kept.heldBackScale]).toEqual([scale, undefined]);
    expect((await host.ask('scale.cards', {}))[0]?.usedBy).toBe(1);

    const reading = async () => (await host.ask('stylus.page', { id: stylus.id })).captures[0];
    const facts = { view: kept.view, light: kept.light, mirrored: null, taken: null, notes: '' };
    const update = (part: { microscope: string; zoom: number | null }) =>
      host.ask('capture.update', {
        id: kept.id,
        ...facts,
        isBaseline: false,
        microscope: part.microscope,
        scale: { ...scale, card: { id: card.id, zoom: part.zoom, focus: null } },
      });
    const other = await update({ microscope: 'Another one', zoom: 2 });
    expect(other.scale).toBeNull();
    expect(other.heldBackScale?.reason).toMatch(/Bench microscope.*does not belong.*camera/);
    const zoomed = await update({ microscope: 'Bench microscope', zoom: 3 });
    expect(zoomed.heldBackScale?.reason).toMatch(/zoom/);
    // Set right, it is back; nothing was destroyed.
    await update({ microscope: 'Bench microscope', zoom: 2 });
    expect((await reading())?.scale).toEqual(scale);
    // The card is corrected: pictures that took the old value say so instead of going on with it.
    await host.ask('scale.change', {
      id: card.id,
      draft: { ...draft, scale: { ...draft.scale, umPerPx: 1.3 } },
    });
    expect((await reading())?.heldBackScale?.reason).toMatch(/corrected/);
    await host.ask('scale.change', { id: card.id, draft: { ...draft, frameWidthPx: 128 } });
    expect((await reading())?.heldBackScale?.reason).toMatch(/frame size/);
  }, 30_000);
});

describe('the command "scale"', () => {
  const run = (args: string[]) =>
    spawnSync(process.execPath, [join(root, 'electron', 'daybook.mjs'), 'scale', ...args], {
      encoding: 'utf8',
    });

  it('answers with one JSON line, refuses with a reason, and explains wrong usage', async () => {
    const folder = temporaryFolder();
    const [file, second, empty] = ['slide.png', 'turned.png', 'empty.png'].map((name) => join(folder, name));
    writeFileSync(file, slide.bytes);
    writeFileSync(second, turned.bytes);
    writeFileSync(empty, await picture(40));
    const good = run(['--image', file, '--turned', second, '--pitch', '100', '--pitch-u', '0,02', '--json']);
    expect([good.status, good.stderr]).toEqual([0, '']);
    const report = slideReportSchema.parse(JSON.parse(good.stdout));
    expect(report.ok && report.pixelShape?.square).toBe(false);
    const plain = run(['--image', file, '--pitch', '100']);
    expect(plain.stdout).toMatch(/^Scale: 2\.\d+ ± 0\.0\d+\u00A0µm\/px, for 800 x 600 px only$/m);
    const none = run(['--image', empty, '--pitch', '100', '--json', '--id', 'x']);
    expect(none.status).toBe(1);
    expect(JSON.parse(none.stdout)).toMatchObject({ ok: false, id: 'x' });
    for (const [args, sentence] of [
      [['--image', file], '--pitch is missing'],
      [['--image', file, '--pitch', '0'], 'above zero'],
      [['--image', file, '--pitch', '100', '--pitch-u', '50'], 'a tenth of the pitch'],
      [['--image', file, '--pitch', '100', '--view', 'front'], 'does not belong'],
    ] as const) {
      const wrong = run([...args]);
      expect([wrong.status, wrong.stdout]).toEqual([2, '']);
      expect(wrong.stderr).toContain(sentence);
    }
  }, 120_000);
});
