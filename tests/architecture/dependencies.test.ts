import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { importedBy, shippedPackages, thirdPartyText } from '../../electron/build/licences.mjs';
import { notRun } from '../not-run.ts';
import { projectFiles, readProjectFile } from './source.ts';

/** What the project stands on: licences of what ships, nothing unused, nothing that runs at installation. */
const root = fileURLToPath(new URL('../..', import.meta.url));
type Manifest = {
  dependencies: Record<string, string>;
  devDependencies: Record<string, string>;
  allowScripts: Record<string, boolean>;
  scripts: Record<string, string>;
};
const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as Manifest;

/** Licences that ask for their text to be passed on, and for nothing else. */
const PERMISSIVE = new Set([
  '0BSD',
  'Apache-2.0',
  'BlueOak-1.0.0',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'CC0-1.0',
  'ISC',
  'MIT',
  'MIT-0',
  'Unlicense',
  'Zlib',
]);

/** Anything else is named here with the reason why it may ship. */
const NAMED: readonly { readonly name: RegExp; readonly licence: string; readonly why: string }[] = [
  {
    name: /^@img\/sharp-libvips-/,
    licence: 'LGPL-3.0-or-later',
    why: 'the image library as a file of its own, which anybody can exchange for another build of it',
  },
  {
    name: /^@img\/sharp-(win32|wasm32)/,
    licence: 'Apache-2.0 AND LGPL-3.0-or-later',
    why: 'the same library in one package with its binding',
  },
  {
    name: /^@img\/sharp-wasm32$/,
    licence: 'Apache-2.0 AND LGPL-3.0-or-later AND MIT',
    why: 'the same library compiled for a browser; npm does not install it on the three systems',
  },
];

describe('licences of what ships', () => {
  const shipped = shippedPackages();

  it('are permissive, or named with a reason', () => {
    const doubtful = shipped.filter(
      ({ name, licence }) =>
        !PERMISSIVE.has(licence) && !NAMED.some((one) => one.name.test(name) && one.licence === licence),
    );
    expect(doubtful).toEqual([]);
  });

  it('cover host and window with all that they stand on', () => {
    const names = shipped.map(({ name }) => name);
    for (const name of Object.keys(manifest.dependencies)) expect(names).toContain(name);
    for (const name of ['react', 'react-dom', 'scheduler', 'zustand', 'd3-scale', 'd3-array'])
      expect(names).toContain(name);
    expect(names).not.toContain('vitest');
    expect(names).not.toContain('electron-builder');
  });

  it('are passed on with their texts', () => {
    const text = thirdPartyText();
    for (const { name, version } of shipped) expect(text).toContain(`${name} ${version}`);
    expect(text).toContain('Permission is hereby granted');
  });
});

/** Used by name in a script, a setting or by another tool, not by an import. */
const TOOLS: Readonly<Record<string, string>> = {
  '@types/node': 'types',
  '@types/react': 'types',
  '@types/react-dom': 'types',
  '@types/d3-scale': 'types',
  '@types/d3-shape': 'types',
  oxlint: 'npm run check',
  'oxlint-tsgolint': 'type-aware rules of oxlint',
  prettier: 'npm run check',
  typescript: 'npm run check',
  vitest: 'npm test',
  playwright: 'installs a browser where a machine has none',
  electron: 'the shell',
};

describe('dependencies', () => {
  const named = Object.keys({ ...manifest.dependencies, ...manifest.devDependencies });
  const code = projectFiles()
    .filter((path) => /\.(ts|tsx|mjs)$/.test(path))
    .map((path) => readProjectFile(path))
    .join('\n');
  const imported = (name: string): boolean =>
    code.includes(`'${name}'`) || code.includes(`'${name}/`) || code.includes(`'${name}/package.json'`);

  it('are all used', () => {
    const types = (name: string): string => name.replace(/^@types\//, '').replace('__', '/');
    const unused = named.filter(
      (name) =>
        !imported(name) &&
        TOOLS[name] === undefined &&
        !(name.startsWith('@types/') && imported(types(name))),
    );
    expect(unused).toEqual([]);
  });

  it('that the window or the host loads are pinned exactly, like all others', () => {
    const loose = Object.entries({ ...manifest.dependencies, ...manifest.devDependencies }).filter(
      ([, version]) => !/^\d+\.\d+\.\d+(-[\w.]+)?$/.test(version),
    );
    expect(loose).toEqual([]);
  });

  it('that the host imports are no tools of development', () => {
    const missing = [...importedBy('electron/host'), ...importedBy('core'), ...importedBy('shared')].filter(
      (name) => manifest.dependencies[name] === undefined,
    );
    expect(missing).toEqual([]);
  });

  it('run nothing at installation', () => {
    const lock = JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8')) as {
      packages: Record<string, { hasInstallScript?: boolean; optional?: boolean }>;
    };
    const running = Object.entries(lock.packages)
      .filter(([, entry]) => entry.hasInstallScript === true)
      .map(([place]) => place.replace(/^.*node_modules\//, ''))
      .filter((name) => !(name in manifest.allowScripts));
    expect([...new Set(running)]).toEqual([]);
  });
});

describe('known holes', () => {
  it('are asked for where the registry answers, and printed', () => {
    const asked = spawnSync(
      'npm',
      ['audit', '--json', '--omit=dev', '--fetch-retries=0', '--fetch-timeout=8000'],
      { cwd: root, encoding: 'utf8', timeout: 25_000, shell: process.platform === 'win32' },
    );
    type Audit = { metadata?: { vulnerabilities?: Record<string, number> } };
    let answer: Audit = {};
    try {
      answer = JSON.parse(asked.stdout) as Audit;
    } catch {
      // No answer at all: said below.
    }
    const counts = answer.metadata?.vulnerabilities;
    if (counts === undefined) notRun('npm audit', 'the registry gave no answer to it');
    else process.stdout.write(`npm audit, what ships: ${JSON.stringify(counts)}\n`);
    // A hole found tomorrow must not break a commit of today: it is printed, and looked at before a release.
    expect(counts === undefined || typeof counts['total'] === 'number').toBe(true);
  }, 40_000);
});

describe('how node is called', () => {
  it('times the program with the flags that people run it with', () => {
    const flags = (name: string): string[] =>
      (manifest.scripts[name] ?? '').split(' ').filter((word) => word.startsWith('--'));
    expect(flags('start').length).toBeGreaterThan(0);
    expect(flags('daybook')).toEqual(flags('start'));
    expect(flags('bench')).toEqual(flags('start'));
  });
});
