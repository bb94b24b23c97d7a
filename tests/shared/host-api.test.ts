import { describe, expect, it } from 'vitest';
import { datedSchema, hostEvents, hostMethods, idSchema, scaleSchema } from '../../shared/index.ts';
import type { HostClient, HostHandlers } from '../../shared/index.ts';

const id = 'abcdefgh0123';

describe('the table of host methods', () => {
  it('names every method noun.verb', () => {
    const names = Object.keys(hostMethods);
    expect(names.length).toBeGreaterThan(20);
    expect(names.filter((name) => !/^[a-z]+\.[a-z][A-Za-z]*$/.test(name))).toEqual([]);
  });

  it('refuses every method that is called with something else than an object', () => {
    for (const [name, { input }] of Object.entries(hostMethods))
      for (const bad of [null, undefined, 'text', 7, []])
        expect(input.safeParse(bad).success, `${name} with ${String(bad)}`).toBe(false);
  });

  it.each([
    ['picture.offer', { fileName: 'a.png', bytes: 'not bytes' }],
    ['picture.offer', { fileName: 'x'.repeat(501), bytes: new Uint8Array(1) }],
    ['stylus.page', { id: '../../etc' }],
    ['stylus.page', { id: 'UPPER-case-id' }],
    ['capture.picture', { id, maxEdgePx: 1e9 }],
    ['capture.picture', { id, maxEdgePx: 0.5 }],
    ['comparison.run', { baselineId: id, laterId: id, jobId: '' }],
    ['bin.put', { kind: 'everything', id }],
    ['sheet.pdf', { stylusId: id, comparisonId: null, paper: 'A0' }],
    ['stylus.retire', { id, date: 'yesterday', reason: 'worn', successorId: null }],
    ['stylus.retire', { id, date: '2024-05-01', reason: '   ', successorId: null }],
  ] as const)('refuses a bad payload: %s', (name, payload) => {
    expect(hostMethods[name].input.safeParse(payload).success).toBe(false);
  });

  it('has events that carry what they say', () => {
    expect(hostEvents.progress.safeParse({ jobId: 'j', stage: 'edges', fraction: 0.5 }).success).toBe(true);
    expect(hostEvents.changed.safeParse({ stylusId: null }).success).toBe(true);
    expect(hostEvents.changed.safeParse({}).success).toBe(false);
  });

  it('gives caller and host one type', () => {
    // Compiles only while both sides are derived from the table; nothing to run.
    const client = {} as HostClient;
    const handlers = {} as HostHandlers;
    const unused = async (): Promise<void> => {
      const page = await client.call('stylus.page', { id });
      page satisfies Awaited<ReturnType<HostHandlers['stylus.page']>>;
      // @ts-expect-error - a method that is not in the table does not exist
      await client.call('stylus.explode', { id });
      // @ts-expect-error - the payload belongs to another method
      await handlers['stylus.page']({ token: 'x' });
    };
    expect(unused).toBeTypeOf('function');
  });
});

describe('what a collection holds', () => {
  it.each(['2024-05-01', '2024-05-01T18:30', '2024-05-01T18:30:59'])('takes the wall time %s', (wall) => {
    expect(datedSchema.safeParse({ wall, offset: null, source: 'person' }).success).toBe(true);
  });

  it.each([
    { wall: '1 May 2024', offset: null, source: 'person' },
    { wall: '2024-05-01T18:30:59Z', offset: null, source: 'exif' },
    { wall: '2024-05-01', offset: '2', source: 'exif' },
    { wall: '2024-05-01', offset: null, source: 'guess' },
    { wall: '2024-05-01', source: 'exif' },
  ])('never guesses a date: %o', (bad) => {
    expect(datedSchema.safeParse(bad).success).toBe(false);
  });

  it('takes no scale of nothing', () => {
    const scale = { umPerPx: 1, standardUmPerPx: null, source: 'typed' };
    expect(scaleSchema.safeParse(scale).success).toBe(true);
    for (const umPerPx of [0, -1, Number.NaN, Number.POSITIVE_INFINITY, 1001])
      expect(scaleSchema.safeParse({ ...scale, umPerPx }).success, String(umPerPx)).toBe(false);
    expect(scaleSchema.safeParse({ ...scale, standardUmPerPx: -0.1 }).success).toBe(false);
  });

  it.each(['', 'short', 'with space 1', 'a/b/c/d/e/f', 'x'.repeat(41), 'ÄÖÜÄÖÜÄÖÜ'])(
    'refuses the name "%s"',
    (bad) => {
      expect(idSchema.safeParse(bad).success).toBe(false);
    },
  );
});
