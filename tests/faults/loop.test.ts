import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { portsWith } from './ports.ts';
import type { Counter, Fault } from './ports.ts';
import { WORKS, soundRows } from './works.ts';
import type { Did, Rows } from './works.ts';

/**
 * Call after call of every port fails, once and for ever, through every work; each time the collection must be whole
 * afterwards, hold everything that was acknowledged and nothing half-done. DAYBOOK_FAULTS=all tries every call;
 * otherwise some of them, others at each run.
 */
const ALL = process.env['DAYBOOK_FAULTS'] === 'all';
const STEP = ALL ? 1 : 11;
const MOST_CALLS = 3000;

let home: string;
beforeAll(() => {
  home = mkdtempSync(join(tmpdir(), 'daybook-faults-'));
});
afterAll(() => rmSync(home, { recursive: true, force: true }));

describe.each(WORKS.map((work) => [work.name, work] as const))('%s', (name, work) => {
  let template: string;
  let before: Rows;

  beforeAll(async () => {
    template = join(home, name);
    await work.prepare(template);
    // Looked at in a copy: opening may change the format.
    const looked = join(home, `${name}, looked at`);
    cpSync(template, looked, { recursive: true });
    before = await soundRows(looked);
  });

  async function meet(fault: Fault): Promise<{ met: boolean; failed: number }> {
    const folder = join(home, 'one');
    rmSync(folder, { recursive: true, force: true });
    cpSync(template, folder, { recursive: true });
    const counter: Counter = { calls: 0 };
    const did: Did = { made: {}, failed: 0, done: false };
    await work.run(folder, portsWith(fault, counter), did);
    const where = `${fault.port}, call ${fault.at}${fault.forEver ? ' and every later one' : ''}`;
    try {
      await work.check(await soundRows(folder), before, did, folder);
    } catch (error) {
      throw new Error(`After a fault of ${where}: ${(error as Error).message}`, { cause: error });
    }
    return { met: counter.calls >= fault.at, failed: did.failed };
  }

  it('goes through when nothing fails', async () => {
    const port = work.ports[0];
    // A work that is refused anyway would make every fault look harmless.
    expect(await meet({ port, at: MOST_CALLS, forEver: false })).toEqual({ met: false, failed: 0 });
  }, 60_000);

  const cases = work.ports.flatMap((port) => [
    { port, forEver: false, how: 'once' },
    { port, forEver: true, how: 'for ever' },
  ]);

  it.each(cases)(
    'loses nothing when the $port fails $how',
    async ({ port, forEver, how }) => {
      let hits = 0;
      let refusals = 0;
      // The first call always, and from then on every one or every eleventh.
      const second = ALL ? 2 : 2 + Math.floor(Math.random() * STEP);
      for (let at = 1; at < MOST_CALLS; at = at === 1 ? second : at + STEP) {
        const { met, failed } = await meet({ port, at, forEver });
        if (!met) break;
        hits++;
        refusals += failed > 0 ? 1 : 0;
      }
      if (ALL) console.log(`${name}: ${port} failed ${how} at each of ${hits} calls, ${refusals} told`);
      // The loop really went through the work: without a call the port would be bypassed.
      expect(hits).toBeGreaterThan(0);
    },
    ALL ? 1_800_000 : 120_000,
  );
});
