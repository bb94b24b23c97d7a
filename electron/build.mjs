import { createHash } from 'node:crypto';
import { spawn } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join, relative, sep } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { withBuildLock } from './build/lock.mjs';

/**
 * Turns the sources into what runs, and only what is out of date: every part carries a stamp with the hash of its
 * sources, so a fresh clone, an edit and a changed branch are all noticed and an unchanged tree costs some 30 ms.
 *
 *   host      dist/host/*.js     main, server, daybook command, engine worker (ESM) and preload.cjs
 *   renderer  dist/renderer      the window (renderer/vite.config.ts)
 *   demo      dist/demo          pictures and rows of the demo collection, made by fixtures/
 */
export const root = fileURLToPath(new URL('..', import.meta.url));
const dist = join(root, 'dist');

/** Packages that are loaded from node_modules: native or WebAssembly parts, or CommonJS that gains nothing bundled. */
const EXTERNAL = ['electron', 'sharp', 'opencv-wasm', '@photostructure/sqlite'];

/**
 * A CommonJS package of half a megabyte, imported, is first read through letter by letter for names that it might export, in
 * every thread: required, it is just run. It has a default export only.
 */
const REQUIRED = new Set(['opencv-wasm']);
const requirePackages = {
  name: 'require-packages',
  enforce: 'pre',
  resolveId: (id) => (REQUIRED.has(id) ? `\0required:${id}` : null),
  load: (id) =>
    id.startsWith('\0required:')
      ? `import { createRequire } from 'node:module';
         export default createRequire(import.meta.url)('${id.slice('\0required:'.length)}');`
      : null,
};

const PARTS = {
  host: {
    sources: ['electron', 'core', 'shared', 'package.json'],
    present: () => true,
    make: makeHost,
  },
  renderer: {
    sources: ['renderer', 'core', 'shared', 'package.json'],
    present: () => existsSync(join(root, 'renderer', 'vite.config.ts')),
    missing: 'The window is not built: renderer/vite.config.ts is not there.',
    make: makeRenderer,
  },
  demo: {
    sources: ['fixtures', 'shared', 'electron/build', 'package.json'],
    present: () => existsSync(join(root, 'fixtures', 'demo.ts')),
    missing: 'The demo collection is not made: fixtures/demo.ts is not there.',
    make: makeDemo,
  },
};

/** @typedef {keyof typeof PARTS} PartName */

function* sourceFiles(path) {
  if (!existsSync(path)) return;
  const entries = readdirSync(path, { withFileTypes: true });
  for (const entry of entries.toSorted((a, b) => (a.name < b.name ? -1 : 1))) {
    const full = join(path, entry.name);
    if (entry.isDirectory()) yield* sourceFiles(full);
    else if (entry.isFile()) yield full;
  }
}

/** Hash over names and contents, so that neither a copied tree nor a clock can fool it. */
function fingerprint(sources) {
  const hash = createHash('sha256');
  for (const source of sources) {
    const path = join(root, source);
    const files = existsSync(path) && !source.endsWith('.json') ? sourceFiles(path) : [path];
    for (const file of files) {
      const content = readFileSync(file);
      hash.update(`${relative(root, file).split(sep).join('/')}\n${content.byteLength}\n`).update(content);
    }
  }
  return hash.digest('hex');
}

const stampFile = (name) => join(dist, `${name}.stamp`);
function isFresh(name, print) {
  try {
    return readFileSync(stampFile(name), 'utf8') === print && existsSync(join(dist, name));
  } catch {
    return false;
  }
}

/** Swaps a finished folder in, so that a running program never meets a half-written one. */
function swapIn(name, made) {
  const target = join(dist, name);
  const old = join(dist, `.${name}.old`);
  rmSync(old, { recursive: true, force: true });
  if (existsSync(target)) renameSync(target, old);
  renameSync(made, target);
  rmSync(old, { recursive: true, force: true });
}

async function bundle({ entries, outDir, format = 'es', external = EXTERNAL, alone = false, logLevel }) {
  const { build } = await import('vite');
  await build({
    configFile: false,
    root,
    logLevel,
    mode: 'production',
    plugins: [requirePackages],
    ssr: { noExternal: true, external: external.filter((name) => !REQUIRED.has(name)) },
    build: {
      ssr: true,
      target: 'node20',
      outDir,
      emptyOutDir: true,
      minify: false,
      reportCompressedSize: false,
      rolldownOptions: {
        input: entries,
        external: [...external.filter((name) => !REQUIRED.has(name)), /^node:/],
        // Only defines things: a module of which nothing is used is left out, the schemas and their library with it.
        ...(alone ? { treeshake: { moduleSideEffects: (id) => !DEFINES_ONLY.test(id) } } : {}),
        output: {
          format,
          entryFileNames: format === 'cjs' ? '[name].cjs' : '[name].js',
          // Beside the entries, so that import.meta.url names the same folder in every file.
          chunkFileNames: 'chunk-[name]-[hash].js',
          ...(format === 'cjs' ? { codeSplitting: false } : {}),
        },
      },
    },
  });
}

const HOST_ENTRIES = {
  main: 'electron/main.ts',
  server: 'electron/server.ts',
  launch: 'electron/launch/launch.ts',
  daybook: 'electron/daybook.ts',
  'copy-worker': 'electron/host/store/copy-worker.ts',
};

/** The measuring thread shares no chunk with the rest: it would load what only the rest needs. */
const ENGINE_ENTRY = { 'engine-worker': 'electron/host/engine-worker.ts' };
const DEFINES_ONLY = /[\\/](shared|core)[\\/][^.]+\.ts$/;

const present = (entries) =>
  Object.fromEntries(
    Object.entries(entries)
      .map(([name, file]) => [name, join(root, file)])
      .filter(([, file]) => existsSync(file)),
  );

async function makeHost(out, logLevel) {
  await bundle({ entries: present(HOST_ENTRIES), outDir: out, logLevel });
  const engine = join(out, 'engine');
  await bundle({ entries: present(ENGINE_ENTRY), outDir: engine, alone: true, logLevel });
  // Beside the others; a chunk of the same name has the same content, which its name holds the hash of.
  for (const name of readdirSync(engine)) renameSync(join(engine, name), join(out, name));
  rmSync(engine, { recursive: true, force: true });
  const preload = join(root, 'electron', 'preload.ts');
  if (!existsSync(preload)) return;
  // A sandboxed preload must be one CommonJS file.
  const side = join(out, 'preload');
  await bundle({
    entries: { preload },
    outDir: side,
    format: 'cjs',
    external: ['electron'],
    logLevel,
  });
  renameSync(join(side, 'preload.cjs'), join(out, 'preload.cjs'));
  rmSync(side, { recursive: true, force: true });
}

async function makeRenderer(out, logLevel) {
  const { build } = await import('vite');
  await build({
    configFile: join(root, 'renderer', 'vite.config.ts'),
    logLevel,
    mode: 'production',
    build: { outDir: out, emptyOutDir: true, reportCompressedSize: false },
  });
}

async function makeDemo(out, logLevel) {
  const maker = `${out}-maker`;
  try {
    // The host may not import fixtures/; it takes the finished folder in, like any pictures that a person adds.
    await bundle({ entries: { demo: join(root, 'fixtures', 'demo.ts') }, outDir: maker, logLevel });
    mkdirSync(out, { recursive: true });
    const script = join(root, 'electron', 'build', 'make-demo.mjs');
    const shares = Math.min(4, availableParallelism());
    const makeShare = (share) =>
      runNode([script, join(maker, 'demo.js'), out, String(share), String(shares)]);
    await Promise.all(Array.from({ length: shares }, (_, share) => makeShare(share)));
  } finally {
    rmSync(maker, { recursive: true, force: true });
  }
}

function runNode(args) {
  return new Promise((resolve, reject) => {
    // Standard output belongs to the command that asked for the build.
    const child = spawn(process.execPath, args, { cwd: root, stdio: ['ignore', 'ignore', 'inherit'] });
    child.once('error', reject);
    child.once('exit', (code) =>
      code === 0 ? resolve() : reject(new Error(`${relative(root, args[0])} ended with ${code}`)),
    );
  });
}

async function makePart(name, print, silent) {
  const started = performance.now();
  if (!silent) process.stderr.write(`Building ${name} … `);
  const out = join(dist, `.${name}.${process.pid}`);
  // A test runner's NODE_ENV would make a window of the slow, talkative kind, and its stamp would call it fresh.
  const asked = process.env.NODE_ENV;
  process.env.NODE_ENV = 'production';
  try {
    rmSync(out, { recursive: true, force: true });
    await PARTS[name].make(out, silent ? 'silent' : 'warn');
    rmSync(stampFile(name), { force: true });
    swapIn(name, out);
    writeFileSync(stampFile(name), print);
  } finally {
    if (asked === undefined) delete process.env.NODE_ENV;
    else process.env.NODE_ENV = asked;
    rmSync(out, { recursive: true, force: true });
  }
  if (!silent) process.stderr.write(`${((performance.now() - started) / 1000).toFixed(1)} s\n`);
}

/**
 * Makes the named parts where they are missing or stale.
 * @param {{ parts?: PartName[], silent?: boolean, force?: boolean }} [options]
 * @returns {Promise<PartName[]>} the parts that were made
 */
export async function ensureBuild({
  parts = ['host', 'demo', 'renderer'],
  silent = false,
  force = false,
} = {}) {
  const stale = (print) =>
    parts.filter((name) => PARTS[name].present() && (force || !isFresh(name, print[name])));
  const prints = () =>
    Object.fromEntries(
      parts.filter((name) => PARTS[name].present()).map((name) => [name, fingerprint(PARTS[name].sources)]),
    );
  if (!silent)
    for (const name of parts) if (!PARTS[name].present()) process.stderr.write(`${PARTS[name].missing}\n`);
  if (stale(prints()).length === 0) return [];
  mkdirSync(dist, { recursive: true });
  return withBuildLock(join(dist, '.build-lock'), async () => {
    // Looked at again: the build that held the lock may have been the same one.
    const print = prints();
    const made = stale(print);
    for (const name of made) await makePart(name, print[name], silent);
    return made;
  });
}

const entry = process.argv[1];
if (entry !== undefined && import.meta.url === pathToFileURL(entry).href) {
  const args = process.argv.slice(2);
  const only = args.find((arg) => arg.startsWith('--only='))?.slice('--only='.length);
  try {
    const options = { silent: args.includes('--silent'), force: args.includes('--force') };
    const made = await ensureBuild(only === undefined ? options : { ...options, parts: only.split(',') });
    if (made.length === 0 && !args.includes('--silent')) process.stderr.write('Everything is up to date.\n');
  } catch (error) {
    process.stderr.write(`The build failed: ${error instanceof Error ? error.message : String(error)}\n`);
    process.exitCode = 1;
  }
}
