import { homedir } from 'node:os';
import { describe, expect, it } from 'vitest';
import {
  ARROWS,
  CORE_FOR_FIXTURES,
  CORE_FOR_RENDERER,
  DATABASE_FS,
  RENDERER_HOST_FILE,
  TOP_LEVEL,
} from './arrows.ts';
import {
  databaseReadAsFile,
  forbiddenArrows,
  hostReachedAround,
  impurities,
  machinePaths,
  ruleFor,
  silencedTests,
  tooLong,
} from './check.ts';
import { isCode, projectFiles, readProjectFile, readSource, ROOT } from './source.ts';

const files = projectFiles();
const codeFiles = files.filter((path) => path.includes('/') && isCode(path));
const sources = codeFiles.map((path) => readSource(path, readProjectFile(path)));

describe('the project as it is', () => {
  it('has one rule for every file of code, and a file for every rule', () => {
    expect(codeFiles.length).toBeGreaterThan(20);
    expect(codeFiles.filter((path) => ruleFor(path) === undefined)).toEqual([]);
    const used = new Set(codeFiles.map(ruleFor));
    expect(ARROWS.filter((rule) => !used.has(rule)).map((rule) => rule.under)).toEqual([]);
  });

  it('names only places that exist', () => {
    const named = [...ARROWS.flatMap((rule) => rule.project), ...CORE_FOR_RENDERER, ...CORE_FOR_FIXTURES];
    expect(named.filter((place) => !files.some((path) => path.startsWith(place)))).toEqual([]);
    expect(files).toEqual(expect.arrayContaining([RENDERER_HOST_FILE, ...Object.keys(DATABASE_FS)]));
  });

  it('imports along the arrows only', () => {
    expect(sources.flatMap((source) => source.imports).length).toBeGreaterThan(50);
    expect(sources.flatMap(forbiddenArrows)).toEqual([]);
  });

  it('keeps clock, chance, disk, network and page out of the core', () => {
    expect(sources.flatMap(impurities)).toEqual([]);
  });

  it('reaches the host through one file of the window', () => {
    expect(sources.flatMap(hostReachedAround)).toEqual([]);
  });

  it('never reads the live database as a file', () => {
    expect(sources.flatMap(databaseReadAsFile)).toEqual([]);
  });

  it('has no test that is switched off', () => {
    expect(sources.flatMap(silencedTests)).toEqual([]);
  });

  it('gives a reason for every long file', () => {
    expect(codeFiles.flatMap((path) => tooLong(path, readProjectFile(path)))).toEqual([]);
  });

  it('holds no path of the machine that it was written on', () => {
    // Put together here, so that this file does not hold them either.
    const folders = [
      ['', 'work', ''],
      ['', 'root', ''],
    ].map((parts) => parts.join('/'));
    for (const folder of [ROOT, homedir()]) if (folder.split('/').length > 3) folders.push(folder);
    const texts = files.filter((path) => /\.(m?[jt]sx?|json|md|css|html|txt|ya?ml)$|(^|\/)run$/.test(path));
    expect(texts.length).toBeGreaterThan(20);
    expect(texts.flatMap((path) => machinePaths(path, readProjectFile(path), folders))).toEqual([]);
  });

  it('has the agreed names at its top level, and no others', () => {
    const top = new Set(
      files.map((path) => path.split('/')[0] ?? path).filter((name) => !name.startsWith('.')),
    );
    expect([...top].filter((name) => !TOP_LEVEL.includes(name) && !name.endsWith('.log'))).toEqual([]);
    expect(TOP_LEVEL.filter((name) => !top.has(name))).toEqual([]);
  });
});

describe('the checks themselves', () => {
  const arrowsOf = (path: string, text: string) => forbiddenArrows(readSource(path, text));

  it.each([
    ['shared/units.ts', `import { fitCircle } from '../core/fit/circle.ts';`],
    ['core/fit/circle.ts', `import cv from 'opencv-wasm';`],
    ['core/fit/circle.ts', `import { readFileSync } from 'node:fs';`],
    ['core/fit/circle.ts', `import { readFileSync } from 'fs';`],
    ['core/fit/circle.ts', `export { x } from '../../electron/host/store.ts';`],
    ['core/fit/circle.ts', `export * from '../../electron/host/store.ts';`],
    ['core/fit/circle.ts', `const m = await import('sharp');`],
    ['core/fit/circle.ts', `const m = await import(name);`],
    ['core/cv/load.ts', `import { x } from '../../fixtures/render/front.ts';`],
    ['electron/host/store.ts', `import type { BrowserWindow } from 'electron';`],
    ['electron/host/store.ts', `import { createServer } from 'node:http';`],
    ['electron/host/store.ts', `import { serve } from '../loopback/server.ts';`],
    ['electron/host/store.ts', `import { x } from '../../renderer/app.tsx';`],
    ['electron/daybook.ts', `const { app } = require('electron');`],
    ['renderer/app.tsx', `import { comparePair } from '../core/index.ts';`],
    ['renderer/app.tsx', `import { store } from '../electron/host/store.ts'; export const a = <p>x</p>;`],
    ['renderer/app.tsx', `import sharp from 'sharp';`],
    ['fixtures/render/front.ts', `import { comparePair } from '../../core/compare.ts';`],
    ['elsewhere/file.ts', `export const x = 1;`],
  ])('catches a planted import: %s: %s', (path, text) => {
    expect(arrowsOf(path, text)).toHaveLength(1);
  });

  it.each([
    ['core/fit/circle.ts', `import { um } from '../../shared/index.ts';`],
    ['core/cv/load.ts', `import cv from 'opencv-wasm';`],
    ['electron/main.ts', `import { app } from 'electron';`],
    ['renderer/app.tsx', `import { z } from '../shared/index.ts'; import './app.css';`],
    ['tests/x.test.ts', `import sharp from 'sharp'; import { a } from '../renderer/app.tsx';`],
  ])('lets an allowed import pass: %s: %s', (path, text) => {
    expect(arrowsOf(path, text)).toEqual([]);
  });

  it.each([
    'export const t = () => Date.now();',
    'export const t = new Date();',
    'export const r = Math.random();',
    "export const r = fetch('x');",
    'export const r = document.title;',
    'export const r = { ...process.env };',
    'export const r = (x as number) + performance.now();',
    'console.log(1);',
    'export const here = import.meta.url;',
  ])('catches an impure core: %s', (text) => {
    expect(impurities(readSource('core/x.ts', text)).length).toBeGreaterThan(0);
    expect(impurities(readSource('electron/x.ts', text))).toEqual([]);
  });

  it.each([
    'export const smooth = (window: number[]) => window.length;',
    'export const year = (text: string) => new Date(text).getUTCFullYear();',
    'export type Page = { document: Document; fetch: typeof fetch };',
    'export const f = (x: { process: number }) => x.process;',
  ])('is not fooled by a name alone: %s', (text) => {
    expect(impurities(readSource('core/x.ts', text))).toEqual([]);
  });

  it('catches a page that goes around its one file', () => {
    for (const text of [
      `void fetch('/api');`,
      `window.hostApi.call('app.info', {});`,
      `new EventSource('/e');`,
    ]) {
      expect(hostReachedAround(readSource('renderer/app.tsx', text)).length).toBeGreaterThan(0);
      expect(hostReachedAround(readSource(RENDERER_HOST_FILE, text))).toEqual([]);
    }
  });

  it('catches a database file that is read by hand', () => {
    const opens = `import { DatabaseSync } from '@photostructure/sqlite';`;
    const read = (line: string) => databaseReadAsFile(readSource('electron/host/db.ts', `${opens}\n${line}`));
    expect(read(`import { copyFileSync } from 'node:fs';`)).toHaveLength(1);
    expect(read(`import * as fs from 'node:fs';`)).toHaveLength(1);
    expect(read(`import { readFile } from 'node:fs/promises';`)).toHaveLength(1);
    expect(read(`import { mkdirSync } from 'node:fs';`)).toEqual([]);
    // A listed file is let off for the listed function only.
    const listed = (names: string) =>
      databaseReadAsFile(
        readSource('electron/host/store/lock.ts', `${opens}\nimport { ${names} } from 'node:fs';`),
      );
    expect(listed('readFileSync')).toEqual([]);
    expect(listed('readFileSync, copyFileSync')).toHaveLength(1);
  });

  it('catches tests that are switched off', () => {
    const off = ['skip', 'only', 'todo', 'each.skip'].map((how) => `it.${how}("a", () => {});`);
    off.push('xit("a");', 'describe.concurrent.skip("a", () => {});');
    for (const text of off)
      for (const path of ['tests/a.test.ts', 'tests/e2e/a.e2e.ts'])
        expect(silencedTests(readSource(path, text)).length).toBeGreaterThan(0);
    expect(silencedTests(readSource('tests/a.test.ts', 'it("a", () => { list.skip(1); });'))).toEqual([]);
  });

  it('catches a long file without a reason, and a path of a machine', () => {
    const long = 'x;\n'.repeat(401);
    expect(tooLong('a.ts', long)).toHaveLength(1);
    expect(tooLong('a.ts', `// Over 400 lines because the table is one.\n${long}`)).toEqual([]);
    expect(tooLong('a.ts', 'x;\n'.repeat(400))).toEqual([]);
    expect(machinePaths('a.md', 'one\nsee /srv/here/x', ['/srv/here/'])).toEqual(['a.md:2: /srv/here/']);
  });
});
