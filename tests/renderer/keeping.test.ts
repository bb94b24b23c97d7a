import { describe, expect, it } from 'vitest';
import { checkSentence, formatBytes, formatMoment } from '../../renderer/keeping/words.ts';
import { parseRoute, writeRoute } from '../../renderer/state/route.ts';
import { createDaybook } from '../../renderer/state/store.ts';
import { Refusal } from '../../shared/index.ts';
import type { CheckReport } from '../../shared/index.ts';
import { fakeHost } from './fake-host.ts';

const NBSP = '\u00a0';
const FINE: CheckReport = {
  at: '2024-01-01T10:00:00Z',
  ok: true,
  database: { ok: true, problems: [] },
  originals: { fine: 1, damaged: [], missing: [], orphaned: [] },
};

describe('words of safekeeping', () => {
  it('say how large something is, in decimal steps (IEC 80000-13)', () => {
    expect(formatBytes(999)).toBe(`999${NBSP}bytes`);
    expect(formatBytes(1000)).toBe(`1.0${NBSP}kB`);
    expect(formatBytes(9_949_999)).toBe(`9.9${NBSP}MB`);
    expect(formatBytes(999_600)).toBe(`1.0${NBSP}MB`);
    expect(formatBytes(5_400_000_000)).toBe(`5.4${NBSP}GB`);
  });

  it('say when, and when that is not known', () => {
    expect(formatMoment('2024-03-02T10:00:00Z')).toMatch(/^\d+\u00a0Mar\u00a02024, \d{2}:\d{2}$/);
    expect(formatMoment('nonsense')).toBe('date unknown');
  });

  it('sum up a check in one sentence', () => {
    expect(checkSentence(FINE)).toBe('Everything is as it should be: the database and 1 picture.');
    const bad: CheckReport = {
      ...FINE,
      ok: false,
      database: { ok: false, problems: ['x'] },
      originals: { fine: 2, damaged: [{ file: 'a', usedBy: [] }], missing: [], orphaned: ['b', 'c'] },
    };
    expect(checkSentence(bad)).toBe(
      'Not everything is well: the database is not in order, 1 picture damaged, 2 files that nothing names. ' +
        '2 pictures are fine.',
    );
  });
});

describe('the way to safekeeping', () => {
  it('is an address of its own, like the bin', () => {
    for (const screen of ['keeping', 'bin'] as const)
      expect(parseRoute(writeRoute({ screen }))).toEqual({ screen });
  });

  it('asks for nothing else when the collection cannot be opened', async () => {
    const host = fakeHost();
    const closed = new Refusal('collection-damaged', 'It is damaged.');
    const info = {
      ...(await host.call('app.info', {})),
      trouble: { code: closed.code, message: closed.message },
    };
    const broken = fakeHost({}, { 'app.info': async () => info });
    const model = createDaybook(broken, { storage: null, hash: '#/', writeHash: () => undefined });
    await model.start();
    expect(broken.calls.map((call) => call.name)).toEqual(['app.info']);
    expect(model.store.getState().info?.trouble?.message).toBe('It is damaged.');
    expect(model.store.getState().problem).toBeNull();
  });
});
