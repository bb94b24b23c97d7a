import {
  ARROWS,
  BUILD_SETTINGS,
  DATABASE_FS,
  HOST_REACHING_NAMES,
  IMPURE_GLOBALS,
  LONG_FILE_LINES,
  LONG_FILE_REASON,
  RENDERER_HOST_FILE,
  RESERVED,
  type Arrow,
} from './arrows.ts';
import type { Import, Source } from './source.ts';

/** Each check takes one file as it was read and returns sentences; an empty list means that all is well. */

const within = (path: string, place: string): boolean =>
  place.endsWith('/') ? path.startsWith(place) : path === place;

/** The rule with the longest matching `under`; undefined when no rule knows the file. */
export function ruleFor(path: string): Arrow | undefined {
  return ARROWS.filter((rule) => within(path, rule.under)).toSorted(
    (a, b) => b.under.length - a.under.length,
  )[0];
}

function arrowTrouble(path: string, rule: Arrow, item: Import): string | null {
  if (item.kind === 'project') {
    const allowed = within(item.path, rule.under) || rule.project.some((place) => within(item.path, place));
    return allowed ? null : `${rule.under} may not import ${item.path}`;
  }
  if (item.kind === 'node') {
    if (rule.node === 'all') return null;
    const root = item.name.split('/')[0] ?? item.name;
    if (rule.node !== 'none' && !rule.node.allBut.includes(root)) return null;
    return `${rule.under} may not import node:${item.name}`;
  }
  if (item.kind === 'unknown')
    return rule.node === 'all' ? null : `${rule.under} may not import a module chosen at run time`;
  const reserved = RESERVED.find((entry) => entry.name === item.name);
  if (reserved && !path.startsWith('tests/') && !reserved.homes.some((home) => within(path, home)))
    return `${item.name} may be imported in ${reserved.homes.join(', ')} only`;
  if (rule.packages !== 'any' && !rule.packages.includes(item.name))
    return `${rule.under} may not import the package ${item.name}`;
  return null;
}

export function forbiddenArrows(source: Source): string[] {
  if (BUILD_SETTINGS.test(source.path)) return [];
  const rule = ruleFor(source.path);
  if (!rule) return [`${source.path}: no rule in tests/architecture/arrows.ts knows this file`];
  return source.imports.flatMap((item) => {
    const trouble = arrowTrouble(source.path, rule, item);
    return trouble === null ? [] : [`${source.path}:${item.line}: ${trouble}`];
  });
}

const IMPURE_USES =
  /^(Date\.now|new Date\(\s*\)|Date\(|Math\.random|import\.meta|performance\.|crypto\.)|^new Date$/;

/** What would make the same input give another answer on another day or machine. */
export function impurities(source: Source): string[] {
  if (!/^(core|shared)\//.test(source.path)) return [];
  const names = source.freeNames.filter((use) => IMPURE_GLOBALS.includes(use.name));
  const uses = source.uses.filter((use) => IMPURE_USES.test(use.name));
  return [...names, ...uses].map(
    (use) => `${source.path}:${use.line}: ${use.name.slice(0, 40)} in a pure layer`,
  );
}

export function hostReachedAround(source: Source): string[] {
  if (!source.path.startsWith('renderer/') || source.path === RENDERER_HOST_FILE) return [];
  if (BUILD_SETTINGS.test(source.path)) return [];
  const names = source.freeNames.filter((use) => HOST_REACHING_NAMES.includes(use.name));
  const uses = source.uses.filter((use) => /^(window|globalThis|self)\.(hostApi|fetch)\b/.test(use.name));
  return [...names, ...uses].map(
    (use) => `${source.path}:${use.line}: ${use.name} - the host is reached through ${RENDERER_HOST_FILE}`,
  );
}

const FS_READERS =
  /^(\*|default|readFile|readFileSync|copyFile|copyFileSync|cp|cpSync|createReadStream|open|openSync|openAsBlob)$/;

/**
 * A file that opens the database neither reads nor copies files: closing any handle on a live SQLite file drops its
 * locks (SQLite, "How To Corrupt An SQLite Database File", section 2.2).
 */
export function databaseReadAsFile(source: Source): string[] {
  const opens = source.imports.some((i) => i.kind === 'package' && i.name === '@photostructure/sqlite');
  if (!opens || source.path.startsWith('tests/')) return [];
  const allowed = DATABASE_FS[source.path] ?? [];
  const reads = (name: string): boolean => FS_READERS.test(name) && !allowed.includes(name);
  return source.imports.flatMap((i) =>
    i.kind === 'node' && /^fs(\/promises)?$/.test(i.name) && i.names.some(reads)
      ? [
          `${source.path}:${i.line}: opens the database and may not read or copy files (${i.names.join(', ')})`,
        ]
      : [],
  );
}

const SILENCED = /^(it|test|describe|suite|bench)(\.\w+)*\.(only|skip|todo|fails)\b/;
const SILENCED_NAMES = new Set(['xit', 'xtest', 'xdescribe', 'fit', 'fdescribe']);

/** A test that is switched off, or that switches the others off. */
export function silencedTests(source: Source): string[] {
  if (!/\.(test|e2e)\.tsx?$/.test(source.path)) return [];
  const uses = source.uses.filter((use) => SILENCED.test(use.name));
  const names = source.freeNames.filter((use) => SILENCED_NAMES.has(use.name));
  return [...uses, ...names].map((use) => `${source.path}:${use.line}: ${use.name.slice(0, 40)}`);
}

export function tooLong(path: string, text: string): string[] {
  const lines = text.split('\n');
  if (lines.length - 1 <= LONG_FILE_LINES) return [];
  if (lines.slice(0, 15).join(' ').includes(LONG_FILE_REASON)) return [];
  return [`${path}: ${lines.length - 1} lines; split it, or say "${LONG_FILE_REASON} ..." in its head`];
}

/** Folders of the machine that something was written on; they mean nothing elsewhere. */
export function machinePaths(path: string, text: string, ownFolders: readonly string[]): string[] {
  return text.split('\n').flatMap((line, index) => {
    const found = ownFolders.find((folder) => line.includes(folder));
    return found === undefined ? [] : [`${path}:${index + 1}: ${found}`];
  });
}
