import { appendFileSync } from 'node:fs';
import { describe, expect, it, onTestFinished } from 'vitest';
import { ENGINE_VERSION } from '../../core/version.ts';
import type { Context } from '../../electron/host/context.ts';
import { compareCaptures } from '../../electron/host/measuring.ts';
import { addCapture, updateCapture } from '../../electron/host/store/captures.ts';
import { openCollection } from '../../electron/host/store/collection.ts';
import { setBinned } from '../../electron/host/store/entries.ts';
import { createStylus } from '../../electron/host/store/styluses.ts';
import { answer } from '../../shared/index.ts';
import { answered, flatPair, measured } from '../renderer/reports.ts';
import { DRAFT, FACTS, picture, sha256, temporaryFolder } from './support.ts';

/** A comparison that was asked for before is answered from the collection; an engine that counts tells. */
async function collectionOfTwo() {
  const collection = await openCollection({ folder: temporaryFolder(), who: 'a test' });
  onTestFinished(() => collection.close());
  const { db, originals } = collection;
  const stylusId = createStylus(db, DRAFT).id;
  const { parts: _, ...facts } = FACTS;
  const add = async (shade: number) => {
    const bytes = await picture(shade);
    await originals.adopt(await originals.stage(bytes), 'image/png');
    const original = { mediaType: 'image/png', byteLength: bytes.length, widthPx: 64, heightPx: 48 };
    const whole = { ...facts, stylusId, fileName: 'a.png', original: { ...original, sha256: sha256(bytes) } };
    return addCapture(db, whole);
  };
  const baseline = await add(10);
  const later = await add(90);
  let runs = 0;
  const width = (value: number) => flatPair(measured(value, 1));
  const report = { ...answered(width(4), width(5)), engineVersion: ENGINE_VERSION };
  const measuring = { run: async () => (runs++, answer(report)), close: async () => undefined };
  const context = { collection, measuring, emit: () => undefined } as unknown as Context;
  const compare = (hand: Parameters<typeof compareCaptures>[4] = null) =>
    compareCaptures(context, baseline.id, later.id, { timeLimitMs: 1000 }, hand);
  return { collection, baseline, later, compare, runs: () => runs };
}

describe('a comparison that was asked for before', () => {
  it('is answered from what is stored, also out of the bin', async () => {
    const { collection, compare, runs } = await collectionOfTwo();
    const first = await compare();
    expect(await compare()).toEqual(first);
    expect(runs()).toBe(1);
    setBinned(collection.db, 'comparison', first.id, true);
    const again = await compare();
    expect(again.binnedAt).toBe(null);
    expect(again.report).toEqual(first.report);
    expect(runs()).toBe(1);
  });

  it('is measured again with another scale, and answered when the scale is back', async () => {
    const { collection, later, compare, runs } = await collectionOfTwo();
    const { db } = collection;
    await compare();
    const scale = { umPerPx: 1.25, standardUmPerPx: 0.01, source: 'typed' as const };
    updateCapture(db, later.id, { ...later, scale });
    await compare();
    expect(runs()).toBe(2);
    updateCapture(db, later.id, { ...later, scale: { ...scale, standardUmPerPx: 0.02 } });
    await compare();
    expect(runs()).toBe(3);
    updateCapture(db, later.id, { ...later, scale: { ...scale, source: 'two-points' } });
    const known = await compare();
    expect(runs()).toBe(3);
    expect(known.report.ok && known.report.warnings).toEqual([]);
    updateCapture(db, later.id, { ...later, notes: 'another lamp' });
    await compare();
    expect(runs()).toBe(3);
  });

  it('is measured again by another engine, and when a hand placed the pictures', async () => {
    const { collection, compare, runs } = await collectionOfTwo();
    await compare();
    const pose = { xPx: 1, yPx: 2, rotationDeg: 0, umPerPx: 1 };
    await compare({ baseline: pose, later: pose });
    expect(runs()).toBe(2);
    await compare({ baseline: pose, later: pose });
    expect(runs()).toBe(2);
    collection.db.run("UPDATE comparison SET engine_version = '0.0.1'");
    await compare();
    expect(runs()).toBe(3);
  });

  it('goes to the engine when a file is no longer what it was', async () => {
    const { collection, later, compare, runs } = await collectionOfTwo();
    await compare();
    appendFileSync(collection.originals.pathOf(later.sha256, later.mediaType), 'x');
    await compare();
    expect(runs()).toBe(2);
  });
});
