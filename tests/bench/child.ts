import { makeCollection, openingOf, type CollectionSize } from './collection.ts';
import { intakeOf } from './intake.ts';
import { liveOf } from './live.ts';
import { memoryOver, stagesOf } from './comparing.ts';
import { renderShare, type PairFile } from './pictures.ts';

/** Tasks that want a process of their own: child.js <task> <options as JSON>; the answer is one line of JSON. */
type Pairs = { readonly folder: string; readonly pairs: readonly PairFile[] };

const TASKS: Readonly<Record<string, (options: never) => Promise<unknown>>> = {
  render: async (options: { folder: string; share: number; shares: number; pairs: number }) => {
    await renderShare(options.folder, options.share, options.shares, options.pairs);
    return {};
  },
  stages: ({ folder, pairs }: Pairs) => stagesOf(folder, pairs),
  'make-collection': async (options: {
    folder: string;
    size: CollectionSize;
    pictures: string;
    pair: PairFile;
  }) => {
    await makeCollection(options.folder, options.size, options.pictures, options.pair);
    return {};
  },
  'open-collection': ({ folder }: { folder: string }) => openingOf(folder),
  intake: ({ folder, small, large, all }: { folder: string; small: string; large: string; all: string[] }) =>
    intakeOf(folder, small, large, all),
  live: ({ folder, pairs }: Pairs) => liveOf(folder, pairs),
  growth: ({ folder, pairs, times }: Pairs & { times: number }) => memoryOver(folder, pairs, times),
};

const [task = '', options = '{}'] = process.argv.slice(2);
const run = TASKS[task];
if (run === undefined) throw new Error(`bench: no task "${task}"`);
process.stdout.write(`\n${JSON.stringify(await run(JSON.parse(options) as never))}\n`);
