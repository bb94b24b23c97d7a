import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

/**
 * Writes the demo collection's rows and pictures into a folder: make-demo.mjs <built fixtures module>
 * <folder> <share> <shares>. Rendering is plain arithmetic, so every share of the pictures has a process of its own.
 * Only pictures and what a person would have written; everything measured is measured by the program itself.
 */
const [module, folder, share, shares] = process.argv.slice(2);
const { demoCollection, renderDemoCapture } = await import(pathToFileURL(module).href);
const demo = demoCollection();

const EXTENSION = { 'image/jpeg': 'jpg', 'image/png': 'png', 'image/tiff': 'tif', 'image/webp': 'webp' };
const fileOf = (capture) => `${capture.key}.${EXTENSION[capture.mediaType]}`;

function factsOf(capture) {
  const { key, fileName, view, light, mirrored, taken, scale, microscope, isBaseline, notes } = capture;
  const file = fileOf(capture);
  return { key, file, fileName, view, light, mirrored, taken, scale, microscope, isBaseline, notes };
}

/** Front pictures are compared with their baseline; one without is examined alone; side views show the cantilever. */
function tasksOf(captures) {
  const fronts = captures.filter((capture) => capture.view === 'front');
  const baseline = fronts.find((capture) => capture.isBaseline);
  const others = fronts.filter((capture) => capture !== baseline);
  const endOn = captures.filter((capture) => capture.view === 'end-on');
  const alone = baseline ? [baseline, ...endOn] : [...others, ...endOn];
  return {
    compare: baseline ? others.map((capture) => [baseline.key, capture.key]) : [],
    examine: alone.map((capture) => capture.key),
    cantilever: captures.filter((capture) => capture.view === 'side').map((capture) => capture.key),
  };
}

const styluses = demo.styluses.map(({ key, draft }) => {
  const captures = demo.captures.filter((capture) => capture.stylusKey === key);
  const entries = demo.entries.filter((entry) => entry.stylusKey === key).map((entry) => entry.draft);
  return { draft, captures: captures.map(factsOf), entries, ...tasksOf(captures) };
});

for (const capture of demo.captures.filter((_, i) => i % Number(shares) === Number(share)))
  writeFileSync(join(folder, fileOf(capture)), await renderDemoCapture(capture));
if (share === '0')
  writeFileSync(
    join(folder, 'demo.json'),
    JSON.stringify({ notice: demo.notice, owner: demo.owner, styluses }, null, 1),
  );
