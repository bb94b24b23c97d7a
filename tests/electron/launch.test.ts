import { spawn, type ChildProcess } from 'node:child_process';
import { chmodSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { findBrowser, quietSwitches } from '../../electron/browser/find.ts';
import { findElectron, hasDisplay } from '../../electron/launch/electron.ts';
import { fetchElectron } from '../../electron/launch/fetch-electron.ts';
import { buildHost, root, temporaryFolder } from './support.ts';

beforeAll(buildHost);

type Launched = { child: ChildProcess; said: () => string; ended: Promise<number | null> };

/** The built launcher without the build before it, on a collection of its own. */
function launch(env: NodeJS.ProcessEnv, folder = temporaryFolder()): Launched {
  const script = `import(${JSON.stringify(new URL('dist/host/launch.js', `file://${root}`).href)})
    .then((m) => m.launch()).then((code) => { process.exitCode = code; })`;
  const child = spawn(process.execPath, ['-e', script], {
    cwd: root,
    env: {
      ...process.env,
      DISPLAY: '',
      WAYLAND_DISPLAY: '',
      DAYBOOK_COLLECTION: join(folder, 'collection'),
      XDG_DATA_HOME: join(folder, 'data'),
      DAYBOOK_PORT: '0',
      ...env,
    },
  });
  let said = '';
  child.stdout.on('data', (part: Buffer) => (said += part.toString()));
  child.stderr.on('data', (part: Buffer) => (said += part.toString()));
  const ended = new Promise<number | null>((done) => child.once('exit', done));
  onTestFinished(async () => {
    child.kill('SIGKILL');
    await ended;
  });
  return { child, said: () => said, ended };
}

/** A program that writes down how it was called. */
function stub(folder: string, name: string, lines: string): string {
  mkdirSync(folder, { recursive: true });
  const path = join(folder, name);
  writeFileSync(path, `#!/bin/sh\necho "$@" > "${folder}/called"\n${lines}\n`);
  chmodSync(path, 0o755);
  return path;
}
const calledWith = (folder: string): string => readFileSync(join(folder, 'called'), 'utf8');

const SLOW = 30_000;

describe.skipIf(process.platform === 'win32')('npm start', () => {
  it('runs Electron where its program is, and ends with its status', async () => {
    const folder = temporaryFolder();
    stub(folder, 'electron', 'exit 0');
    const { said, ended } = launch({ ELECTRON_OVERRIDE_DIST_PATH: folder, DISPLAY: ':9' });
    expect(await ended).toBe(0);
    expect(said()).toContain('runs in Electron');
    expect(calledWith(folder).trim()).toBe(root.replace(/\/$/, ''));
  });

  it('does not open a second program when the first has said that the collection is in use', async () => {
    const folder = temporaryFolder();
    stub(folder, 'electron', 'exit 3');
    const { said, ended } = launch({ ELECTRON_OVERRIDE_DIST_PATH: folder, DISPLAY: ':9' });
    expect(await ended).toBe(3);
    expect(said()).not.toContain('Address:');
  });

  it('goes on in a browser window when Electron does not start, and says why', async () => {
    const folder = temporaryFolder();
    stub(folder, 'electron', 'exit 127');
    const env = { ELECTRON_OVERRIDE_DIST_PATH: folder, DISPLAY: ':9', DAYBOOK_NO_WINDOW: '1' };
    const { child, said, ended } = launch(env);
    await expect
      .poll(said, { timeout: SLOW })
      .toMatch(/Address: http:\/\/127\.0\.0\.1:\d+\/#token=[\w-]{43}\n/);
    expect(said()).toContain('not in Electron: Electron ended as soon as it was started');
    child.kill('SIGTERM');
    expect(await ended).toBe(0);
  });

  it('only prints the address where there is no display, and fetches nothing', async () => {
    const { child, said, ended } = launch({});
    await expect.poll(said, { timeout: SLOW }).toContain('No window was opened: there is no display');
    expect(said()).toContain('not in Electron: there is no display');
    expect(said()).not.toContain('fetched');
    child.kill('SIGTERM');
    expect(await ended).toBe(0);
  });

  it('opens an app window in the browser that is named, and ends when that window is closed', async () => {
    const folder = temporaryFolder();
    const browser = stub(folder, 'browser', 'exit 0');
    const { said, ended } = launch({ DAYBOOK_SKIP_ELECTRON: '1', DISPLAY: ':9', DAYBOOK_BROWSER: browser });
    expect(await ended).toBe(0);
    const [address] = /http:\S+/.exec(said()) ?? [''];
    expect(calledWith(folder)).toContain(`--app=${address}`);
    expect(calledWith(folder)).toContain('--user-data-dir=');
    expect(said()).toContain('not in Electron: DAYBOOK_SKIP_ELECTRON is set');
  });

  it('says who holds the collection and opens nothing', async () => {
    const folder = temporaryFolder();
    const env = { DAYBOOK_SKIP_ELECTRON: '1', DAYBOOK_NO_WINDOW: '1' };
    const first = launch(env, folder);
    await expect.poll(first.said, { timeout: SLOW }).toContain('Address:');
    const second = launch(env, folder);
    expect(await second.ended).toBe(3);
    expect(second.said()).toContain('The collection is open in a Stylus Daybook browser window');
    expect(second.said()).toContain(`process ${first.child.pid}`);
    expect(second.said()).not.toContain('Address:');

    const other = temporaryFolder();
    const shown = {
      DAYBOOK_SKIP_ELECTRON: '1',
      DISPLAY: ':9',
      DAYBOOK_BROWSER: stub(other, 'browser', 'exit 0'),
    };
    expect(await launch(shown, folder).ended).toBe(3);
    expect(readdirSync(other).toSorted()).toEqual(['browser']);
  });
});

describe('finding Electron', () => {
  const quiet = () => undefined;

  it('is skipped when asked, and without a display', async () => {
    expect(await findElectron({ DAYBOOK_SKIP_ELECTRON: '1' }, quiet)).toMatchObject({ path: null });
    expect(hasDisplay({})).toBe(process.platform !== 'linux');
    expect(hasDisplay({ WAYLAND_DISPLAY: 'wayland-0' })).toBe(true);
  });

  it('says what is missing in the folder that was named', async () => {
    const found = await findElectron({ ELECTRON_OVERRIDE_DIST_PATH: '/nowhere', DISPLAY: ':9' }, quiet);
    expect(found).toMatchObject({ path: null, why: expect.stringContaining('/nowhere') as unknown });
  });

  it('gives up a fetch that fails with its reason, and one that works is believed', async () => {
    const folder = temporaryFolder();
    const said: string[] = [];
    const say = (text: string) => said.push(text);
    writeFileSync(
      join(folder, 'install.js'),
      "console.error('RequestError: getaddrinfo ENOTFOUND host'); process.exit(1);",
    );
    expect(await fetchElectron(folder, process.env, say)).toContain('ENOTFOUND');
    writeFileSync(join(folder, 'install.js'), 'process.exit(0);');
    expect(await fetchElectron(folder, process.env, say)).toBeNull();
    expect(said[0]).toContain('DAYBOOK_SKIP_ELECTRON=1');
  });
});

describe('finding a browser', () => {
  it('takes the one that is named, or none', () => {
    expect(findBrowser({ DAYBOOK_BROWSER: process.execPath })).toBe(process.execPath);
    expect(findBrowser({ DAYBOOK_BROWSER: '/nowhere/browser', PATH: process.env['PATH'] })).toBeNull();
  });

  it.skipIf(process.platform !== 'linux')('looks along the path', () => {
    const folder = temporaryFolder();
    const browser = stub(folder, 'google-chrome', '');
    expect(findBrowser({ PATH: `/nowhere:${folder}` })).toBe(browser);
    expect(findBrowser({ PATH: '/nowhere' })).toBeNull();
  });

  it('keeps its own profile and asks nobody for anything', () => {
    const switches = quietSwitches('/p');
    expect(switches).toContain('--user-data-dir=/p');
    expect(switches).toContain('--disable-background-networking');
  });
});
