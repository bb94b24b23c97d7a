import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it, onTestFinished } from 'vitest';
import { openHost, type Host } from '../../electron/host/host.ts';
import { hostMethods, type HostReply, type MethodName } from '../../shared/index.ts';
import { anythingAtAll, spoiled, valid, type Known } from './fuzz-schema.ts';
import { DRAFT, FACTS, picture, temporaryFolder } from './support.ts';

/**
 * Every method of the table with arguments that pass its schema, arguments of which one part is spoilt, and anything at
 * all: each call is answered or refused with a sentence, in time; the host goes on. The measuring thread is a double,
 * so that what is tested is everything around it.
 */
const NAMES = Object.keys(hostMethods) as MethodName[];
const IN_TIME_MS = 20_000;
const RUNS = { numRuns: 25, seed: 20240301, endOnFailure: true };

/** Folders are chosen by the fuzzing, so nothing may be written or opened outside the test's own. */
const PATHS = new Set<MethodName>(['keeping.set', 'keeping.showFolder']);

function refusingThread(): string {
  const file = join(temporaryFolder(), 'refusing.mjs');
  writeFileSync(
    file,
    `import { parentPort } from 'node:worker_threads';
    parentPort.on('message', ({ number, kind }) => {
      const output = kind === 'inspect'
        ? { ok: true, value: { mediaType: 'image/png', widthPx: 64, heightPx: 48, taken: null, warnings: [] } }
        : { ok: false, reason: { code: 'unreadable-image', message: 'This thread measures nothing.' } };
      parentPort.postMessage({ number, type: 'done', output, spoilt: false });
    });`,
  );
  return file;
}

type Fuzzed = { readonly host: Host; readonly known: Known };

async function hostWithRows(): Promise<Fuzzed> {
  const folder = temporaryFolder();
  const host = await openHost({
    folder,
    who: 'the fuzzing',
    shell: 'test',
    version: '0.0.0',
    workerFile: refusingThread(),
    printPdf: null,
    demoFolder: null,
  });
  onTestFinished(() => host.close());
  const ask = async (name: string, input: unknown): Promise<Record<string, unknown>> => {
    const reply = await host.call(name, input);
    if (!reply.ok) throw new Error(`${name}: ${reply.error.message}`);
    return reply.value as Record<string, unknown>;
  };
  const bytes = await picture(30);
  const stylus = await ask('stylus.create', DRAFT);
  const ids = [String(stylus['id'])];
  for (const shade of [40, 50]) {
    const offered = await ask('picture.offer', { fileName: 'a.png', bytes: await picture(shade) });
    const facts = { ...FACTS, stylusId: ids[0], token: offered['token'], isBaseline: shade === 40 };
    ids.push(String((await ask('capture.add', facts))['id']));
  }
  const entry = { stylusId: ids[0], kind: 'note', date: '2024-01-01', played: null, text: '' };
  ids.push(String((await ask('entry.add', entry))['id']));
  return { host, known: { ids, bytes: [bytes, new Uint8Array()] } };
}

const SENTENCE = /^.{10,}[.!?]$/s;

async function answered(host: Host, name: string, input: unknown): Promise<HostReply> {
  let late: NodeJS.Timeout | undefined;
  const reply = await Promise.race([
    host.call(name, input),
    new Promise<'late'>((done) => (late = setTimeout(() => done('late'), IN_TIME_MS))),
  ]);
  clearTimeout(late);
  if (reply === 'late') throw new Error(`${name} hung`);
  return reply;
}

/** A reply that is neither an answer nor a refusal meant for a person; null when it is one. */
function trouble(name: string, reply: HostReply): string | null {
  if (reply.ok) return null;
  const { code, message } = reply.error;
  // "failed" is what the host says when a handler broke down: a fault, however politely it is put.
  if (code === 'failed') return `${name} broke down`;
  return SENTENCE.test(message) && !/\bat \w+.*:\d+/.test(message) ? null : `${name}: "${message}"`;
}

type Kind = 'fitting' | 'spoilt' | 'any';

/** What to call a method with; for those that act on folders only what its schema refuses. */
function argumentsFor(name: MethodName, kind: Kind, known: Known): fc.Arbitrary<unknown> {
  const { input } = hostMethods[name];
  const given = {
    fitting: () => valid(input, known),
    spoilt: () => spoiled(input, known),
    any: () => anythingAtAll,
  };
  const made = given[PATHS.has(name) && kind === 'fitting' ? 'any' : kind]();
  return PATHS.has(name) ? made.filter((value) => !input.safeParse(value).success) : made;
}

describe.each(NAMES)('%s', (name) => {
  it.each<Kind>(['fitting', 'spoilt', 'any'])(
    'answers or refuses %s arguments and goes on',
    async (kind) => {
      const { host, known } = await hostWithRows();
      const property = fc.asyncProperty(argumentsFor(name, kind, known), async (value) => {
        expect(trouble(name, await answered(host, name, value))).toBeNull();
      });
      await fc.assert(property, RUNS);
      expect(await answered(host, 'app.info', {})).toMatchObject({ ok: true });
    },
    120_000,
  );
});

describe('names that are no methods', () => {
  it('are refused, whatever they are', async () => {
    const { host } = await hostWithRows();
    await fc.assert(
      fc.asyncProperty(
        fc.oneof(fc.string(), fc.constantFrom('__proto__', 'constructor', 'toString', 'hasOwnProperty', '')),
        anythingAtAll,
        async (name, value) => {
          fc.pre(!NAMES.includes(name as MethodName));
          expect(await answered(host, name, value)).toMatchObject({
            ok: false,
            error: { code: 'no-such-method' },
          });
        },
      ),
      { ...RUNS, numRuns: 200 },
    );
  });
});
