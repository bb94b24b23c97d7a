import { beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { asChecked, checkedOnce } from '../../electron/host/store/checked.ts';
import { DRAFT } from '../renderer/fake-host.ts';
import { buildHost, temporaryFolder, testHost } from './support.ts';

beforeAll(buildHost);

const schema = z.object({ rows: z.array(z.object({ n: z.number() })), name: z.string() });

describe('an answer on its way out', () => {
  it('hands lists of rows on that were checked when they were read', () => {
    const rows = [asChecked({ n: 1 }), asChecked({ n: 2 })];
    const out = checkedOnce(schema, { rows, name: 'a', more: 1 });
    expect(out).toEqual({ rows, name: 'a' });
    expect(out.rows).toBe(rows);
  });

  it('is checked whole where a single row was not, and otherwise in all but those lists', () => {
    const rows = [asChecked({ n: 1 }), { n: 'two' }];
    expect(() => checkedOnce(schema, { rows, name: 'a' })).toThrow(z.ZodError);
    expect(() => checkedOnce(schema, { rows: [asChecked({ n: 1 })], name: 7 })).toThrow(z.ZodError);
    expect(() => checkedOnce(schema, null)).toThrow(z.ZodError);
    expect(() => checkedOnce(z.array(z.number()), ['a'])).toThrow(z.ZodError);
    // A copy of a checked row is another row.
    expect(checkedOnce(schema, { rows: [{ ...rows[0], more: 1 }], name: 'a' }).rows).toEqual([{ n: 1 }]);
  });

  it('shows what was changed, not what was read before', async () => {
    const host = await testHost(temporaryFolder());
    const { id: stylusId } = await host.ask('stylus.create', DRAFT);
    const draft = { stylusId, kind: 'note' as const, date: '2025-01-01', played: null, text: 'first' };
    const { id } = await host.ask('entry.add', draft);
    const texts = async () =>
      (await host.ask('stylus.open', { id: stylusId })).entries.map(({ text }) => text);
    expect(await texts()).toEqual(['first']);
    await host.ask('entry.update', { id, draft: { ...draft, text: 'second' } });
    expect(await texts()).toEqual(['second']);
  });
});
