import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Nothing has come at all / nothing more has come / it goes on for ever: each ends the attempt. */
const FIRST_BYTE_MS = 20_000;
const STALLED_MS = 90_000;
const TOTAL_MS = 20 * 60_000;
const LOOK_EVERY_MS = 500;

function bytesIn(folder: string): number {
  let total = 0;
  try {
    for (const name of readdirSync(folder, { recursive: true, encoding: 'utf8' })) {
      const found = statSync(join(folder, name), { throwIfNoEntry: false });
      if (found?.isFile()) total += found.size;
    }
  } catch {
    // A folder that is being moved away under our eyes.
  }
  return total;
}

const lastLine = (text: string): string =>
  text
    .split('\n')
    .map((line) => line.trim())
    .find((line) => /error|ENOTFOUND|EAI_AGAIN|refused|failed/i.test(line)) ??
  'no network, or the server is away';

/**
 * Runs the package's own downloader, which checks what it fetched against its list of checksums. It is the only time
 * that anything is fetched, it is announced, and DAYBOOK_SKIP_ELECTRON=1 skips it. Returns the problem, null when well.
 */
export function fetchElectron(
  packageFolder: string,
  env: NodeJS.ProcessEnv,
  say: (text: string) => void,
): Promise<string | null> {
  say('Electron is fetched once, about 100 MB (DAYBOOK_SKIP_ELECTRON=1 skips this) …');
  // The downloader writes below the temporary folder; one of its own shows how far it has come.
  const folder = mkdtempSync(join(tmpdir(), 'daybook-electron-'));
  const child = spawn(process.execPath, [join(packageFolder, 'install.js')], {
    env: { ...env, TMPDIR: folder, TEMP: folder, TMP: folder },
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let errors = '';
  child.stderr.on('data', (chunk: Buffer) => (errors = (errors + chunk.toString()).slice(-4_000)));
  return new Promise((done) => {
    const started = Date.now();
    let bytes = 0;
    let lastGrowth = started;
    let problem: string | null = null;
    const stop = (why: string) => {
      problem = why;
      child.kill('SIGKILL');
    };
    const watch = setInterval(() => {
      const now = Date.now();
      const have = bytesIn(folder);
      if (have > bytes) {
        lastGrowth = now;
        if (Math.floor(have / 1e7) > Math.floor(bytes / 1e7)) say(`  ${Math.round(have / 1e6)} MB`);
        bytes = have;
      }
      if (bytes === 0 && now - started > FIRST_BYTE_MS) stop('nothing came within 20 s');
      else if (now - lastGrowth > STALLED_MS) stop('nothing more came for 90 s');
      else if (now - started > TOTAL_MS) stop('it took more than 20 minutes');
    }, LOOK_EVERY_MS);
    const settle = (result: string | null) => {
      clearInterval(watch);
      rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
      done(result);
    };
    child.once('error', (error) => settle(error.message));
    child.once('exit', (code) => settle(problem ?? (code === 0 ? null : lastLine(errors))));
  });
}
