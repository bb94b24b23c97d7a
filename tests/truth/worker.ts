import { CONDITIONS, trial } from './lab.ts';
import { OTHER_VIEWS, otherTrial } from './other-views.ts';

/** One process of the laboratory: does its share of the seeds and prints a line of JSON per trial. */
const [from, to, step, total] = process.argv.slice(2).map(Number);
const only = process.env.TRUTH_ONLY;
for (const condition of process.env.TRUTH_SINGLE ? [] : CONDITIONS) {
  if (only && !condition.name.includes(only)) continue;
  const n = Math.max(2, Math.round(condition.share * total));
  for (let seed = from; seed < Math.min(to, n); seed += step)
    process.stdout.write(`${JSON.stringify(await trial(condition, 1000 + seed))}\n`);
}
for (const condition of OTHER_VIEWS) {
  if (only && !condition.name.includes(only)) continue;
  const n = Math.max(2, Math.round(condition.share * total));
  for (let seed = from; seed < Math.min(to, n); seed += step)
    process.stdout.write(`${JSON.stringify(await otherTrial(condition, 7000 + seed))}\n`);
}
