// `npm run truth [-- pairs]`: prints the laboratory's table and keeps it in tests/truth/last.md and last.json.
// `npm run truth -- --only single [pairs]`: the rows of single pictures alone, printed and not kept.
import { spawn } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';

const here = dirname(fileURLToPath(import.meta.url));
const root = join(here, '..', '..');
const given = process.argv.slice(2);
const only = given.indexOf('--only');
const [what] = only < 0 ? [] : given.splice(only, 2).slice(1);
if (only >= 0 && what !== 'single') throw new Error(`truth: --only takes "single", got ${what}`);
const total = Number(given[0] ?? 500);
if (!(total > 0)) throw new Error(`truth: the number of pairs must be a positive number, got ${given[0]}`);
await build({
  root,
  logLevel: 'error',
  configFile: false,
  build: {
    ssr: true,
    outDir: 'dist/truth',
    emptyOutDir: true,
    target: 'node20',
    rolldownOptions: {
      input: {
        worker: join(here, 'worker.ts'),
        lab: join(here, 'lab.ts'),
        other: join(here, 'other-views.ts'),
      },
    },
  },
});
const { CONDITIONS, ENGINE_VERSION, summarise } = await import(join(root, 'dist/truth/lab.js'));
const { OTHER_VIEWS, otherTable, summariseOther } = await import(join(root, 'dist/truth/other.js'));
const workers = Math.max(1, Math.min(4, cpus().length));
const trials = [];
/** Cantilevers, end-on views and ruled slides have rows of their own. */
const others = [];
const started = Date.now();
await Promise.all(
  Array.from(
    { length: workers },
    (_, i) =>
      new Promise((resolve, reject) => {
        const child = spawn(
          process.execPath,
          [join(root, 'dist/truth/worker.js'), i, 1e9, workers, total].map(String),
          {
            stdio: ['ignore', 'pipe', 'inherit'],
            env: { ...process.env, ...(what === 'single' ? { TRUTH_SINGLE: '1' } : {}) },
          },
        );
        let rest = '';
        child.stdout.on('data', (chunk) => {
          const lines = (rest + chunk).split('\n');
          rest = lines.pop();
          for (const line of lines) {
            const t = JSON.parse(line);
            (t.other ? others : trials).push(t);
          }
          process.stderr.write(`\r${trials.length} pairs, ${others.length} single pictures`);
        });
        child.on('exit', (code) =>
          code === 0 ? resolve() : reject(new Error(`truth: a worker ended with ${code}`)),
        );
      }),
  ),
);
process.stderr.write('\n');
const rows = CONDITIONS.map((c) =>
  summarise(
    c.name,
    trials.filter((t) => t.condition === c.name),
  ),
).filter((r) => r.pairs > 0);
const otherRows = OTHER_VIEWS.map((c) =>
  summariseOther(
    c,
    others.filter((t) => t.condition === c.name),
  ),
).filter((r) => r.pictures > 0);
const f = (v, digits) => (Number.isFinite(v) ? v.toFixed(digits) : '-');
const head =
  '| condition | pairs | refused | rms um | rms over bound | bias um | worst um | coverage | median U um | median limit um | error/u | false alarms | 6 um up found | found at 5, 6, 8, 10 um | chips | residues | rotation rms deg | turns covered | area error | median ms |';
const table = [
  head,
  head.replace(/[^|]+/g, ' --- '),
  ...rows.map(
    (r) =>
      `| ${r.condition} | ${r.pairs} | ${r.refused} | ${f(r.rmsUm, 2)} | ${f(r.rmsOverBound, 2)} | ${f(r.biasUm, 2)} | ${f(r.worstUm, 2)} | ${f(r.coverage, 3)} | ${f(r.medianU, 2)} | ${f(r.medianLimit, 1)} | ${f(r.errorOverU, 2)} | ${r.falseAlarms} | ${r.found} | ${r.power.join(', ')} | ${r.chips} | ${r.residues} | ${f(r.rotationRmsDeg, 3)} | ${f(r.rotationCoverage, 3)} | ${f(100 * r.areaMedianError, 1)} % | ${f(r.medianMs, 0)} |`,
  ),
].join('\n');
const legend = `Rms over bound: errors of the widths from 5 um up over their Cramer-Rao bounds (both rms), for the same flats in all ${rows.reduce((s, r) => s + r.bounded, 0)} places where the bound is known: no unbiased reading of the pair's light scatters less. Pose, blur, light and depths are free in each capture; radius, ellipse, flanks and wall directions are free and shared by the pair; what is known beforehand is in \`tests/truth/bound.ts\`. Mosaic, sharpening and JPEG cannot add information: the bound is that of the light before them. Lit from the front it is kinder than life, as if the shading were known. The second renderer has none.`;
const second = otherTable(otherRows);
if (rows.length > 0) console.log(`${table}\n\n${legend}`);
if (otherRows.length > 0) console.log(`\n${second}`);
for (const t of others)
  if (process.env.TRUTH_VERBOSE && (t.refused || t.falseAlarms.length + t.missed.length > 0))
    console.log(
      `${t.condition} #${t.seed}: ${t.refused ?? ''} ${[...t.falseAlarms, ...t.missed.map((m) => `missed ${m}`)].join(', ')}`,
    );
for (const t of trials) {
  const worst = Math.max(
    0,
    ...[...t.baseline, ...t.later].filter((r) => r.truth >= 5).map((r) => Math.abs(r.value - r.truth)),
  );
  if (process.env.TRUTH_VERBOSE && (t.refused || worst > 1 || t.suspicions.length))
    console.log(
      `${t.condition} #${t.seed}: ${t.refused ?? `worst ${worst.toFixed(2)}`} ${t.suspicions.join('; ')} ${t.warnings.join(',')}`,
    );
}
if (!process.env.TRUTH_ONLY && what === undefined && total >= 100) {
  writeFileSync(
    join(here, 'last.md'),
    `# The laboratory's last table\n\nEngine ${ENGINE_VERSION}, ${trials.length} rendered pairs, fixed seeds, made by \`npm run truth -- ${total}\` in ${Math.round((Date.now() - started) / 1000)} s. Rendered pictures only: on real styli nothing but repeatability is known.\n\n${table}\n\n${legend}\n\n## Single pictures\n\n${others.length} pictures. Bend angles, extents of flats along and across the groove, and scales (in per cent of the true one). False alarms: pictures with something said that is not so; missed: with something true that was not said.\n\n${second}\n`,
  );
  writeFileSync(join(here, 'last.json'), `${JSON.stringify([...rows, ...otherRows], null, 1)}\n`);
}
console.log(`${trials.length} pairs`);
