import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { ensureBuild } from './build.mjs';
import { thirdPartyText } from './build/licences.mjs';
import { configFor, root } from './package/config.mjs';
import { makeStub } from './package/stub.mjs';

/**
 * `npm run package [-- --stub] [-- --output=FOLDER]`: packs the program for the system it runs on. Without Electron's
 * program files (nothing is fetched here) it packs a stub, which proves the configuration and cannot be started.
 */
const args = process.argv.slice(2);
const output =
  args.find((arg) => arg.startsWith('--output='))?.slice('--output='.length) ?? join(root, 'dist', 'package');
const say = (text) => process.stdout.write(`${text}\n`);

function electronFolder() {
  const folder = dirname(createRequire(import.meta.url).resolve('electron/package.json'));
  const there = existsSync(join(folder, 'path.txt')) && existsSync(join(folder, 'dist', 'version'));
  return {
    version: JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')).version,
    dist: there ? join(folder, 'dist') : null,
  };
}

const electron = electronFolder();
const stub = electron.dist === null || args.includes('--stub');
if (stub && process.platform !== 'linux') {
  say(
    'Electron’s program files are not here, and a stub is made for Linux only. Run "npx install-electron" first.',
  );
  process.exitCode = 1;
} else await pack();

async function pack() {
  await ensureBuild({ silent: args.includes('--silent') });
  const scratch = mkdtempSync(join(tmpdir(), 'daybook-package-'));
  try {
    const electronDist = stub ? makeStub(join(scratch, 'electron'), electron.version) : electron.dist;
    const thirdParty = join(scratch, 'THIRD-PARTY.txt');
    writeFileSync(thirdParty, thirdPartyText());
    const { Platform, build, archFromString } = await import('electron-builder');
    const config = configFor({
      platform: process.platform,
      arch: process.arch,
      output,
      electronDist,
      electronVersion: electron.version,
      thirdParty,
    });
    const targets = Platform.current().createTarget(stub ? 'dir' : undefined, archFromString(process.arch));
    await build({ projectDir: root, targets, config });
    say(`Packed into ${output}.`);
    if (stub)
      say(
        'Electron’s program files are not here: a stub was packed, which proves the configuration and cannot be started. ' +
          'Installers were not made. "npx install-electron" fetches the program files; then run this again.',
      );
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
}
