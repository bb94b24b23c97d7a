import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/**
 * What ships to a person: the packages that the host loads or has inside its bundle, and those inside the window's
 * bundle, each with everything it stands on. Electron brings its own licences and those of Chromium.
 */
const root = fileURLToPath(new URL('../..', import.meta.url));
const lock = () => JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8')).packages;

function* codeFiles(folder) {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) yield* codeFiles(path);
    else if (/\.tsx?$/.test(entry.name) && !entry.name.includes('.config.')) yield path;
  }
}

const packageOf = (specifier) =>
  specifier
    .split('/')
    .slice(0, specifier.startsWith('@') ? 2 : 1)
    .join('/');

/** `… from 'x'` and `import 'x'`; a path of the project begins with a dot. */
const IMPORT = /(?:\bfrom|^import)\s+'([@a-z][\w@./-]*)'/gm;

/** Names of packages that the files of a folder import. */
export function importedBy(folder) {
  const found = new Set();
  for (const file of codeFiles(join(root, folder)))
    for (const [, specifier] of readFileSync(file, 'utf8').matchAll(IMPORT))
      if (!specifier.startsWith('node:')) found.add(packageOf(specifier));
  return found;
}

/** Place of a package in the lock file, looked for as Node does it; null when it is optional and not there. */
function placeOf(packages, from, name) {
  for (let at = from; ; at = at.replace(/(^|\/)node_modules\/(?!.*node_modules\/).*$/, '')) {
    const place = at === '' ? `node_modules/${name}` : `${at}/node_modules/${name}`;
    if (packages[place] !== undefined) return place;
    if (at === '') return null;
  }
}

/**
 * These packages and everything they stand on.
 * @param {Iterable<string>} names
 * @returns {{ name: string, version: string, licence: string, folder: string }[]} sorted by name
 */
export function withAllBelow(names) {
  const packages = lock();
  const seen = new Map();
  const queue = [...names].map((name) => ['', name]);
  for (const [from, name] of queue) {
    const place = placeOf(packages, from, name);
    if (place === null || seen.has(place)) continue;
    const entry = packages[place];
    seen.set(place, { name, version: entry.version, licence: entry.license ?? 'not stated', folder: place });
    const needs = { ...entry.dependencies, ...entry.optionalDependencies };
    for (const need of Object.keys(needs)) queue.push([place, need]);
  }
  // Types are read by the compiler only.
  return [...seen.values()]
    .filter(({ name }) => !name.startsWith('@types/'))
    .toSorted((a, b) => (a.name < b.name ? -1 : 1));
}

export const shippedPackages = () =>
  withAllBelow([...Object.keys(lock()[''].dependencies), ...importedBy('renderer')]);

function licenceText(folder) {
  const path = join(root, folder);
  if (!existsSync(path)) return null;
  const file = readdirSync(path).find((name) => /^(licen[cs]e|copying)/i.test(name));
  return file === undefined ? null : readFileSync(join(path, file), 'utf8').trim();
}

/** The text that goes beside the program. */
export function thirdPartyText() {
  const parts = shippedPackages().map(({ name, version, licence, folder }) => {
    const text = licenceText(folder) ?? 'The package holds no licence text of its own.';
    return `${'='.repeat(78)}\n${name} ${version}\n${licence}\n\n${text}\n`;
  });
  return `Stylus Daybook stands on these packages. Electron and Chromium have files of their own beside this one.\n\n${parts.join('\n')}`;
}
