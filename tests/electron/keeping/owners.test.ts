import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { notRun } from '../../not-run.ts';
import { buildHost, root, temporaryFolder } from '../support.ts';
import { fill, open } from './making.ts';

/**
 * One owner at a time, whoever they are: windows and maintenance commands as processes of their own, started crosswise
 * and at the same moment.
 */
beforeAll(buildHost);

type Kind = 'window' | 'command';
type Other = { readonly child: ChildProcess; said: string; readonly ended: Promise<number | null> };

const built = (name: string): string => JSON.stringify(new URL(`dist/host/${name}`, `file://${root}`).href);

const SCRIPTS: Readonly<Record<Kind, string>> = {
  window: `import(${built('server.js')}).then((m) => m.startServer(null)).then(() => console.log('OPENED'),
    (error) => { console.log(error.code, error.message); process.exit(3); })`,
  command: `import(${built('daybook.js')}).then((m) => m.runDaybook(['collection', 'check', '--folder', process.env.DAYBOOK_COLLECTION]))
    .then((status) => { console.log(status === 0 ? 'OPENED' : ''); process.exitCode = status; })`,
};

function launch(kind: Kind, folder: string): Other {
  const child = spawn(process.execPath, ['-e', SCRIPTS[kind]], {
    cwd: root,
    env: { ...process.env, DAYBOOK_PORT: '0', DAYBOOK_COLLECTION: folder },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const ended = new Promise<number | null>((done) => child.once('exit', done));
  const other: Other = { child, said: '', ended };
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (part: Buffer) => (other.said += part.toString()));
  onTestFinished(() => void child.kill('SIGKILL'));
  return other;
}

const until = (test: () => boolean): Promise<void> =>
  expect.poll(test, { timeout: 30_000, interval: 5 }).toBe(true);

const holderOf = (folder: string): number | null => {
  try {
    return (JSON.parse(readFileSync(join(folder, 'owner.json'), 'utf8')) as { pid: number }).pid;
  } catch {
    return null;
  }
};

/** Starts one and waits until it holds the collection; a command is stopped there, because it would be gone at once. */
async function holding(kind: Kind, folder: string): Promise<Other> {
  const other = launch(kind, folder);
  if (kind === 'window') await until(() => other.said.includes('OPENED'));
  else {
    await until(() => holderOf(folder) === other.child.pid || other.child.exitCode !== null);
    other.child.kill('SIGSTOP');
  }
  return other;
}

async function prepared(): Promise<string> {
  const folder = join(temporaryFolder(), 'collection');
  const collection = await open(folder);
  // Enough that a check takes longer than noticing that it has begun.
  await fill(
    collection,
    'First',
    Array.from({ length: 40 }, (_, i) => 2 * i),
  );
  collection.close();
  return folder;
}

const KINDS: readonly Kind[] = ['window', 'command'];
notRun(
  'A collection opened crosswise with Electron’s window',
  'it takes the same lock, but Electron is not run here',
);

describe('exactly one owner', () => {
  it.each(KINDS.flatMap((first) => KINDS.map((second) => [first, second] as const)))(
    'when a %s has it and a %s comes',
    async (first, second) => {
      const folder = await prepared();
      const holder = await holding(first, folder);
      expect(holderOf(folder)).toBe(holder.child.pid);
      const late = launch(second, folder);
      expect(await late.ended).toBe(3);
      expect(late.said).toContain(`process ${holder.child.pid}`);
      expect(late.said).not.toContain('OPENED');
      expect(holderOf(folder)).toBe(holder.child.pid);
      holder.child.kill('SIGCONT');
      if (first === 'window') holder.child.kill('SIGKILL');
      // Nothing was in the command's way: its check went well.
      expect(await holder.ended).toBe(first === 'window' ? null : 0);
      // Whoever comes next gets it, also after a kill.
      const next = launch(second, folder);
      await until(() => next.said.includes('OPENED'));
      next.child.kill('SIGKILL');
      await next.ended;
    },
    90_000,
  );

  it('when two windows and a command start at the same moment', async () => {
    const folder = await prepared();
    for (let round = 0; round < 4; round++) {
      const windows = [launch('window', folder), launch('window', folder)];
      const command = launch('command', folder);
      const [code] = await Promise.all([
        Promise.race(windows.map((one) => one.ended)),
        until(() => windows.some((one) => one.said.includes('OPENED') || one.child.exitCode !== null)),
      ]);
      await command.ended;
      // A command that came first may have been gone before a window came; never are two windows in.
      expect(code).toBe(3);
      const alive = windows.filter((one) => one.child.exitCode === null);
      expect(alive.length).toBeLessThanOrEqual(1);
      for (const one of alive) {
        await until(() => one.said.includes('OPENED') || one.child.exitCode !== null);
        one.child.kill('SIGKILL');
        await one.ended;
      }
      expect([0, 3]).toContain(command.child.exitCode);
      expect(existsSync(join(folder, 'daybook.sqlite'))).toBe(true);
    }
    const after = await open(folder);
    expect(after.db.get('SELECT count(*) AS n FROM capture')?.['n']).toBe(40);
    after.close();
  }, 120_000);
});
