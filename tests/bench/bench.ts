import { batch, commandLine } from './batch.ts';
import { DEEP, WIDE } from './collection.ts';
import { comparing, growth } from './comparing.ts';
import { frames } from './frames.ts';
import { intake } from './intake.ts';
import { live } from './live.ts';
import { runChild } from './measure.ts';
import { opening, start } from './opening.ts';
import { ALL_PAIRS, pairFiles, writePairsFile } from './pictures.ts';
import { keep, tableOf, type Section } from './table.ts';

/** What can be timed, by the name that `npm run bench -- <name>` takes. */
function sectionsFor(folder: string, quick: boolean): Readonly<Record<string, () => Promise<Section>>> {
  const small = quick ? pairFiles('small').slice(0, 12) : pairFiles('small');
  const large = pairFiles('large');
  const smallFile = writePairsFile(folder, quick ? 'few' : 'small', small);
  const sizes = { small, large };
  return {
    comparing: () => comparing(folder, sizes),
    batch: () => batch(smallFile, small.length, quick ? 1 : 3),
    'command-line': () => commandLine(folder, small[1], quick ? 3 : 7),
    intake: () => intake(folder, sizes),
    live: () => live(folder, sizes),
    frames: () => frames(),
    start: () => start(quick ? 2 : 5),
    collection: () => opening(WIDE, folder, small[0]),
    'collection-deep': () => opening(DEEP, folder, small[0]),
    growth: () => growth(folder, sizes),
  };
}

/** Sections for which no picture, or one pair, has to be rendered first. */
const PAIRS_WANTED: Readonly<Record<string, number>> = {
  start: 0,
  frames: 0,
  collection: 1,
  'collection-deep': 1,
};

const say = (text: string): void => void process.stdout.write(`${text}\n`);

/** Returns the exit status: 0 measured, 2 an unknown name. Missing a bar is a finding, not a failure. */
export async function bench(args: readonly string[], folder: string): Promise<number> {
  const quick = args.includes('--quick');
  const sections = sectionsFor(folder, quick);
  const names = Object.keys(sections);
  const wished = args.filter((arg) => !arg.startsWith('--'));
  const unknown = wished.filter((name) => !names.includes(name));
  if (unknown.length > 0) {
    say(`Unknown: ${unknown.join(', ')}. There are: ${names.join(', ')}.`);
    return 2;
  }
  const asked = wished.length === 0 ? names : wished;
  say('Pictures …');
  const pairs = Math.max(...asked.map((name) => PAIRS_WANTED[name] ?? ALL_PAIRS));
  await Promise.all([0, 1].map((share) => runChild('render', { folder, share, shares: 2, pairs })));
  const done: Record<string, Section> = {};
  for (const name of asked) {
    const started = performance.now();
    const made = await sections[name]();
    done[name] = made;
    say(`\n${name} (${((performance.now() - started) / 1000).toFixed(0)} s)\n${tableOf(made.rows)}`);
    for (const why of made.notRun) say(`Not run: ${why}`);
  }
  // Quick figures are for whoever is changing something; they do not replace the kept ones.
  if (!quick && !args.includes('--keep-last')) keep(done, names);
  return 0;
}
