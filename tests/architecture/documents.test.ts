import { describe, expect, it } from 'vitest';
import { ARROWS, CORE_FOR_RENDERER } from './arrows.ts';
import { projectFiles, readProjectFile } from './source.ts';

/** What the two guides say about the project has to stay true: commands, places, the table of arrows. */

const files = projectFiles();
const scripts = (JSON.parse(readProjectFile('package.json')) as { scripts: Record<string, string> }).scripts;
const exists = (place: string): boolean => {
  const plain = place.replace(/\/$/, '');
  return files.some((path) => path === plain || path.startsWith(`${plain}/`));
};
const inBackticks = (text: string): string[] => [...text.matchAll(/`([^`\n]+)`/g)].map((match) => match[1]);

describe.each(['README.md', 'DEVELOPERS.md'])('%s', (name) => {
  const text = readProjectFile(name);

  it('names only commands that exist', () => {
    const named = [...text.matchAll(/npm run (?:--silent )?([a-z][\w:]*)/g)].map((m) => m[1]);
    expect(named.length).toBeGreaterThan(0);
    expect(named.filter((script) => !(script in scripts))).toEqual([]);
    expect(text).toContain('npm test');
    expect(text).toContain('npm start');
  });

  it('names only places that exist', () => {
    const folders = /^\.?(core|electron|fixtures|renderer|shared|tests|ci)\/[\w./-]*$/;
    const places = [...inBackticks(text), ...[...text.matchAll(/\]\(([\w./-]+)\)/g)].map((m) => m[1])];
    const ours = places.filter((place) => folders.test(place) || /^[A-Z]+(\.md)?$/.test(place));
    expect(ours.filter((place) => /[./]/.test(place) && !exists(place))).toEqual([]);
  });
});

describe('DEVELOPERS.md', () => {
  const text = readProjectFile('DEVELOPERS.md');

  it('has a line for every arrow that the test guards', () => {
    const rows = text.split('\n').filter((line) => line.startsWith('| `'));
    const named = rows.map((row) => inBackticks(row)[0]?.replace(/\/?$/, '/'));
    const missing = ARROWS.filter((arrow) => arrow.under !== 'core/cv/' && !named.includes(arrow.under));
    expect(missing.map((arrow) => arrow.under)).toEqual([]);
    // The one arrow inside a layer stands in that layer's line.
    expect(rows.find((row) => row.startsWith('| `core` '))).toContain('core/cv');
  });

  it('gives a reason for every helper of the core that the window may use', () => {
    const decisions = text.slice(text.indexOf('## Decisions'));
    expect(CORE_FOR_RENDERER.filter((helper) => !decisions.includes(helper))).toEqual([]);
  });

  it('explains every switch that the program reads from its surroundings', () => {
    const code = files.filter((path) => /^(electron|fixtures)\/.*\.(ts|mjs)$/.test(path));
    const read = new Set(code.flatMap((path) => readProjectFile(path).match(/\bDAYBOOK_[A-Z_]+\b/g) ?? []));
    expect(read.size).toBeGreaterThan(3);
    const guides = text + readProjectFile('README.md');
    expect([...read].filter((name) => !guides.includes(name))).toEqual([]);
  });
});
