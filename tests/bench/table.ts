import { readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism, arch, loadavg, platform, totalmem } from 'node:os';
import { join } from 'node:path';
import { ENGINE_VERSION } from '../../core/version.ts';
import { root } from './measure.ts';

/** One line of the table. A bar is a promise; `meets` is null where there is none. */
export type Row = {
  readonly what: string;
  readonly value: number;
  readonly unit: string;
  readonly runs: number;
  readonly bar: number | null;
  readonly meets: boolean | null;
  readonly note: string;
};
export type Section = {
  readonly at: string;
  readonly machine: string;
  readonly engineVersion: string;
  readonly rows: readonly Row[];
  readonly notRun: readonly string[];
};

type Extra = { readonly runs?: number; readonly atMost?: number; readonly note?: string };

export function row(what: string, value: number, unit: string, extra: Extra = {}): Row {
  const bar = extra.atMost ?? null;
  const meets = bar === null ? null : value <= bar;
  return { what, value, unit, runs: extra.runs ?? 1, bar, meets, note: extra.note ?? '' };
}

/** In general terms: figures travel with a commit, names of machines do not. */
export function machineName(): string {
  const cores = availableParallelism();
  const memory = Math.round(totalmem() / 2 ** 30);
  // How much else it had to do: at 16 on two cores a second of work takes eight.
  const load = loadavg()[1].toFixed(1);
  return `${platform()} ${arch()}, ${cores} core${cores === 1 ? '' : 's'}, ${memory} GB, Node ${process.versions.node}, load ${load}`;
}

export const section = (rows: readonly Row[], notRun: readonly string[] = []): Section => ({
  at: new Date().toISOString().slice(0, 10),
  machine: machineName(),
  engineVersion: ENGINE_VERSION,
  rows,
  notRun,
});

const figure = (value: number): string =>
  Number.isFinite(value)
    ? Math.abs(value) >= 100
      ? value.toFixed(0)
      : Number(value.toPrecision(3)).toString()
    : '-';

const verdict = (row: Row): string => (row.meets === null ? '' : row.meets ? 'yes' : '**no**');

export function tableOf(rows: readonly Row[]): string {
  const lines = rows.map(
    (one) =>
      `| ${one.what} | ${figure(one.value)} ${one.unit} | ${one.bar === null ? '' : `${figure(one.bar)} ${one.unit}`} | ${verdict(one)} | ${one.runs} | ${one.note} |`,
  );
  return [
    '| what | median | at most | met | runs | remark |',
    '| --- | --- | --- | --- | --- | --- |',
    ...lines,
  ].join('\n');
}

const jsonFile = join(root, 'tests', 'bench', 'last.json');
const textFile = join(root, 'tests', 'bench', 'last.md');

function readLast(): Record<string, Section> {
  try {
    return JSON.parse(readFileSync(jsonFile, 'utf8')) as Record<string, Section>;
  } catch {
    return {};
  }
}

const titled = (name: string, one: Section): string =>
  [
    `## ${name}`,
    '',
    `${one.at}, engine ${one.engineVersion}, ${one.machine}`,
    '',
    tableOf(one.rows),
    ...one.notRun.map((why) => `\nNot run: ${why}`),
    '',
  ].join('\n');

/** Sections that were not asked for keep their last figures, each with its own day and machine. */
export function keep(sections: Readonly<Record<string, Section>>, order: readonly string[]): void {
  const all = { ...readLast(), ...sections };
  const names = order.filter((name) => all[name] !== undefined);
  const sorted = Object.fromEntries(names.map((name) => [name, all[name]]));
  writeFileSync(jsonFile, `${JSON.stringify(sorted, null, 1)}\n`);
  const head =
    '# The last times\n\nMade by `npm run bench`. Medians. Absolute times on a shared machine mean little; the ratios are against a plain ' +
    'native pipeline ([native.py](native.py)) that ran in turn with the program. Rendered pictures.\n';
  writeFileSync(textFile, [head, ...names.map((name) => titled(name, all[name]))].join('\n'));
}
