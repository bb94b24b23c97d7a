import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { projectFiles, readProjectFile } from '../architecture/source.ts';
import { root } from './support.ts';

/** electron/SECURITY.md against the tests that it names, and against what must be nowhere in the shell. */
const document = readFileSync(join(root, 'electron', 'SECURITY.md'), 'utf8');
const rows = document.split('\n').filter((line) => /^\| +\d+ +\|/.test(line));

describe('the list of Electron’s security items', () => {
  it('has all twenty, in their order', () => {
    expect(rows.map((row) => Number(row.split('|')[1]))).toEqual(Array.from({ length: 20 }, (_, i) => i + 1));
  });

  it('names a test that is there, or says why there is none', () => {
    const missing = rows.filter((row) => {
      const place = row.split('|')[4].trim();
      const named = /^`([\w./-]+)`: "(.+)"$/.exec(place);
      if (named === null) return place !== 'recorded here';
      return !readFileSync(join(root, 'tests', 'electron', named[1]), 'utf8').includes(`'${named[2]}'`);
    });
    expect(missing).toEqual([]);
  });
});

describe('the shell', () => {
  const shell = projectFiles('electron')
    .filter((path) => /^electron\/(main|preload|shell\/.*)\.?t?s?$/.test(path) && path.endsWith('.ts'))
    .map((path) => [path, readProjectFile(path)] as const);

  it('sets nothing that opens a door', () => {
    expect(shell.length).toBeGreaterThanOrEqual(5);
    for (const [path, text] of shell)
      for (const door of [
        'allowRunningInsecureContent',
        'experimentalFeatures',
        'enableBlinkFeatures',
        'webviewTag',
        'allowpopups',
        'openExternal',
        'nodeIntegration: true',
        'nodeIntegrationInWorker',
        'nodeIntegrationInSubFrames',
        'contextIsolation: false',
        'sandbox: false',
        'webSecurity: false',
        'no-sandbox',
        'disable-web-security',
        'ignore-certificate-errors',
        'bypassCSP',
        'loadFile(',
        'file://',
        'executeJavaScript',
        '@electron/remote',
      ])
        expect(text.replaceAll(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '').includes(door), `${path}: ${door}`).toBe(
          false,
        );
  });
});
