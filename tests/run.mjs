import { spawn, spawnSync } from 'node:child_process';
import { appendFileSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { findBrowser } from './find-browser.mjs';

/**
 * `npm test`: format, types, lint, build, unit tests, end-to-end tests; goes on after a failure so that one run tells
 * everything, and ends with "N passed, N failed" (every check counts as one, every test as one).
 * `npm test -- unit e2e` runs the named steps only.
 */

const root = fileURLToPath(new URL('..', import.meta.url));
const bin = (/** @type {string} */ path) => join(root, 'node_modules', path);
const LAYERS = ['electron', 'renderer', 'core', 'fixtures', 'tests', 'shared'];

/** A file in a temporary folder that tests append to: one line for each thing that could not run here, and why. */
const scratch = mkdtempSync(join(tmpdir(), 'daybook-tests-'));
const notRunFile = join(scratch, 'not-run.txt');
writeFileSync(notRunFile, '');

/** Minutes are bounds against a hang, and generous ones: a machine with other work on it is several times slower. */
const STEPS = [
  { name: 'format', minutes: 5, args: [bin('prettier/bin/prettier.cjs'), '--check', '.'] },
  { name: 'types', minutes: 5, args: [bin('typescript/bin/tsc')] },
  { name: 'lint', minutes: 5, args: [bin('oxlint/bin/oxlint'), '--deny-warnings', ...LAYERS] },
  { name: 'build', minutes: 4, args: [join(root, 'electron', 'build.mjs')] },
  { name: 'unit', minutes: 20, config: 'tests/vitest.config.ts' },
  { name: 'e2e', minutes: 40, config: 'tests/e2e/vitest.config.ts', browser: true },
];

/** What the tests use of Debian: a browser, fonts and a PDF reader, and general-purpose references to compare with. */
const DEBIAN_PACKAGES = [
  'chromium',
  'fonts-dejavu-core',
  'fonts-liberation',
  'poppler-utils',
  'python3-opencv',
  'python3-skimage',
  'python3-scipy',
  'opencv-doc',
];

const say = (text = '') => process.stdout.write(`${text}\n`);
const notRun = (/** @type {string} */ line) => appendFileSync(notRunFile, `${line}\n`);

function isDebian() {
  try {
    return /^ID=debian$/m.test(readFileSync('/etc/os-release', 'utf8'));
  } catch {
    return false;
  }
}

/** Only on a machine that is there for testing: root, CI=true, Debian. Elsewhere nothing is installed unasked. */
function installDebianPackages() {
  if (process.env['CI'] !== 'true' || process.getuid?.() !== 0 || !isDebian()) return;
  const missing = DEBIAN_PACKAGES.filter((name) => {
    const state = spawnSync('dpkg-query', ['-W', '-f=${db:Status-Status}', name], { encoding: 'utf8' });
    return state.stdout !== 'installed';
  });
  if (missing.length === 0) return;
  say(`== Installing for the tests: ${missing.join(' ')}`);
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const patient = ['-q', '-o', 'Acquire::Retries=3', '-o', 'DPkg::Lock::Timeout=120'];
  for (const args of [['update'], ['install', '-y', '--no-install-recommends', ...missing]]) {
    const done = spawnSync('apt-get', [...patient, ...args], { env, encoding: 'utf8', timeout: 8 * 60_000 });
    if (done.status === 0) continue;
    say(`${done.stdout ?? ''}${done.stderr ?? ''}`.split('\n').slice(-15).join('\n'));
    say(`apt-get ${args[0]} did not succeed; going on with what is there.`);
  }
}

/**
 * @param {string[]} args
 * @param {number} minutes
 * @returns {Promise<string | null>} null when all went well, else what went wrong
 */
function run(args, minutes, env = process.env) {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, args, { cwd: root, stdio: ['ignore', 'inherit', 'inherit'], env });
    let late = false;
    const timer = setTimeout(() => {
      late = true;
      child.kill('SIGTERM');
      setTimeout(() => child.kill('SIGKILL'), 5000).unref();
    }, minutes * 60_000);
    child.on('error', (error) => resolve(error.message));
    child.on('close', (code, signal) => {
      clearTimeout(timer);
      if (late) resolve(`stopped after ${minutes} minutes`);
      else resolve(code === 0 ? null : `ended with ${signal ?? `exit status ${code}`}`);
    });
  });
}

/** Tests that were passed over, counted by the heading they stand under. */
function listSkipped(name, result) {
  const counts = new Map();
  for (const test of result.testResults.flatMap((file) => file.assertionResults)) {
    if (['passed', 'failed'].includes(test.status)) continue;
    const under = test.ancestorTitles.join(' > ') || test.title;
    counts.set(under, (counts.get(under) ?? 0) + 1);
  }
  for (const [under, count] of counts) notRun(`${name}: ${count} skipped under "${under}"`);
}

/**
 * Runs one vitest suite and counts from its own report; a crash without a report, an error outside any test and a
 * suite without tests are failures.
 */
async function runSuite({ name, config, minutes }, env) {
  if (!existsSync(join(root, config))) return { passed: 0, failed: 1, trouble: `${config} is not there` };
  const report = join(scratch, `${name}.json`);
  const trouble = await run(
    [bin('vitest/vitest.mjs'), 'run', '--config', config, '--reporter=default', '--reporter=json'].concat(
      `--outputFile.json=${report}`,
    ),
    minutes,
    env,
  );
  if (!existsSync(report)) return { passed: 0, failed: 1, trouble: trouble ?? 'left no report' };
  const result = JSON.parse(readFileSync(report, 'utf8'));
  listSkipped(name, result);
  const passed = result.numPassedTests;
  // A file that cannot even be loaded has no failed test of its own.
  const failed = Math.max(result.numFailedTests, result.numFailedTestSuites > 0 ? 1 : 0, trouble ? 1 : 0);
  if (passed + failed === 0) return { passed, failed: 1, trouble: 'found no test' };
  return { passed, failed, trouble };
}

async function runStep(step, browser) {
  const env = { ...process.env, DAYBOOK_NOT_RUN: notRunFile };
  if (browser.path) env['DAYBOOK_BROWSER'] = browser.path;
  if (step.browser && !browser.path) return { passed: 0, failed: 1, trouble: browser.how };
  if (step.config) return runSuite(step, env);
  const trouble = await run(step.args, step.minutes, env);
  return { passed: trouble ? 0 : 1, failed: trouble ? 1 : 0, trouble };
}

function chosenSteps() {
  const wished = process.argv.slice(2);
  const unknown = wished.filter((name) => !STEPS.some((step) => step.name === name));
  if (unknown.length > 0) {
    say(`Unknown step: ${unknown.join(', ')}. Steps: ${STEPS.map((step) => step.name).join(', ')}.`);
    process.exit(2);
  }
  return wished.length === 0 ? STEPS : STEPS.filter((step) => wished.includes(step.name));
}

async function main() {
  const steps = chosenSteps();
  installDebianPackages();
  const browser = await findBrowser();
  say(browser.path ? `Browser: ${browser.path} (${browser.how})` : browser.how);
  for (const step of STEPS) if (!steps.includes(step)) notRun(`step "${step.name}": not asked for`);
  const rows = [];
  for (const step of steps) {
    say(`\n== ${step.name}`);
    const start = Date.now();
    const result = await runStep(step, browser);
    const seconds = ((Date.now() - start) / 1000).toFixed(1);
    if (result.trouble) say(`${step.name}: ${result.trouble}`);
    rows.push({ name: step.name, seconds, ...result });
  }

  say('\n== Summary');
  for (const row of rows) {
    const state = row.failed > 0 ? 'FAILED' : 'ok';
    say(
      `${row.name.padEnd(8)} ${state.padEnd(7)} ${row.seconds.padStart(7)} s  ${row.trouble ?? ''}`.trimEnd(),
    );
  }
  const left = [...new Set(readFileSync(notRunFile, 'utf8').split('\n').filter(Boolean))];
  say(left.length === 0 ? 'Nothing was left out.' : 'Did not run:');
  for (const line of left) say(`  - ${line}`);
  const sum = (/** @type {'passed' | 'failed'} */ key) => rows.reduce((total, row) => total + row[key], 0);
  say(`${sum('passed')} passed, ${sum('failed')} failed`);
  return sum('failed') === 0 ? 0 : 1;
}

let status = 1;
try {
  status = await main();
} finally {
  rmSync(scratch, { recursive: true, force: true });
}
process.exitCode = status;
