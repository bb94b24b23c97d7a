import { parseArgs } from 'node:util';
import { pitchSchema, viewSchema } from '../../shared/index.ts';
import type { GivenRepeatability, View } from '../../shared/index.ts';
import type { GivenLine, GivenScale } from '../../core/index.ts';
import { LEAST_REPEATS } from '../../core/uncertainty/repeatability.ts';

/** Wrong usage: a sentence for standard error, exit status 2. */
export class UsageError extends Error {
  override name = 'UsageError';
}

export type PairRequest = {
  readonly id?: string;
  readonly view: View;
  readonly baseline: string;
  readonly later: string;
  readonly baselineScale: GivenScale | null;
  readonly laterScale: GivenScale | null;
  /** Of whoever took both pictures. */
  readonly repeatability?: GivenRepeatability;
};
export type SingleRequest = {
  readonly id?: string;
  readonly view: View;
  readonly image: string;
  readonly scale: GivenScale | null;
  /** End-on: the same part under a lamp from another side. */
  readonly otherLight?: string;
  /** Cantilever: the line that its skew is told against. */
  readonly line?: GivenLine;
  readonly repeatability?: GivenRepeatability;
};
export type SlideRequest = {
  readonly id?: string;
  readonly image: string;
  /** A second picture of the same slide, turned against the first; tells whether the pixels are square. */
  readonly turned: string | null;
  readonly pitchUm: number;
  readonly pitchRelativeStandard: number | null;
};
type Output = { readonly json: boolean; readonly timeLimitMs: number };
export type Command =
  | { readonly name: 'help'; readonly about: string }
  | ({ readonly name: 'compare'; readonly pair: PairRequest } & Output)
  | ({
      readonly name: 'compare-batch';
      readonly pairsFile: string;
      readonly repeatability?: GivenRepeatability;
    } & Output)
  | ({ readonly name: 'scale'; readonly slide: SlideRequest } & Output)
  | ({ readonly name: 'examine' | 'cantilever'; readonly single: SingleRequest } & Output);

const OPTIONS = {
  help: { type: 'boolean', short: 'h' },
  json: { type: 'boolean' },
  view: { type: 'string' },
  id: { type: 'string' },
  'time-limit': { type: 'string' },
  baseline: { type: 'string' },
  later: { type: 'string' },
  'baseline-scale': { type: 'string' },
  'later-scale': { type: 'string' },
  'baseline-scale-u': { type: 'string' },
  'later-scale-u': { type: 'string' },
  pairs: { type: 'string' },
  image: { type: 'string' },
  scale: { type: 'string' },
  'scale-u': { type: 'string' },
  pitch: { type: 'string' },
  'pitch-u': { type: 'string' },
  turned: { type: 'string' },
  'other-light': { type: 'string' },
  line: { type: 'string' },
  'repeatability-s': { type: 'string' },
  'repeatability-n': { type: 'string' },
} as const;
type OptionName = keyof typeof OPTIONS;
type Given = Partial<Record<OptionName, string | boolean>>;

const COMMON: OptionName[] = ['help', 'json', 'time-limit'];
const REPEATABILITY: OptionName[] = ['repeatability-s', 'repeatability-n'];
const PAIR: OptionName[] = [
  'view',
  'id',
  'baseline',
  'later',
  'baseline-scale',
  'later-scale',
  'baseline-scale-u',
  'later-scale-u',
  ...REPEATABILITY,
];
const SINGLE: OptionName[] = ['view', 'id', 'image', 'scale', 'scale-u'];
const SLIDE: OptionName[] = ['id', 'image', 'turned', 'pitch', 'pitch-u'];

/** Generous: a pair of 5 MP takes seconds; this only ends what would never end. */
export const DEFAULT_TIME_LIMIT_S = 120;

function positive(given: Given, name: OptionName, allowZero = false): number | null {
  const text = given[name];
  if (text === undefined) return null;
  const value = typeof text === 'string' && text.trim() !== '' ? Number(text.replace(',', '.')) : Number.NaN;
  if (!Number.isFinite(value) || value < 0 || (value === 0 && !allowZero))
    throw new UsageError(`--${name} wants a number above zero, not "${String(text)}".`);
  return value;
}

function scaleOf(given: Given, name: 'scale' | 'baseline-scale' | 'later-scale'): GivenScale | null {
  const umPerPx = positive(given, name);
  const standardUmPerPx = positive(given, `${name}-u`, true);
  if (umPerPx !== null) return { umPerPx, standardUmPerPx };
  if (standardUmPerPx !== null) throw new UsageError(`--${name}-u is of no use without --${name}.`);
  return null;
}

/** s of one reading of a width and the number of readings it comes from; nothing is known of the fits among them. */
function repeatabilityOf(given: Given): { repeatability?: GivenRepeatability } {
  const standardUm = positive(given, 'repeatability-s', true);
  const count = positive(given, 'repeatability-n');
  if (standardUm === null && count === null) return {};
  if (standardUm === null || count === null)
    throw new UsageError('--repeatability-s and --repeatability-n belong together: one is of no use alone.');
  if (!Number.isInteger(count) || count < LEAST_REPEATS || count > 10_000)
    throw new UsageError(
      `--repeatability-n wants the whole number of readings, ${LEAST_REPEATS} or more, not ${count}.`,
    );
  if (standardUm > 1000)
    throw new UsageError(`--repeatability-s wants at most 1000 micrometres, not ${standardUm}.`);
  const wall = { standardUm, fitUm: null, degreesOfFreedom: count - 1 };
  return { repeatability: { left: wall, right: wall, radius: null } };
}

function text(given: Given, name: OptionName): string {
  const value = given[name];
  if (typeof value !== 'string' || value === '') throw new UsageError(`--${name} is missing.`);
  return value;
}

export function viewOf(value: unknown): View {
  const parsed = viewSchema.safeParse(value);
  if (parsed.success) return parsed.data;
  throw new UsageError(`The view must be one of ${viewSchema.options.join(', ')}, not "${String(value)}".`);
}

function onlyThese(given: Given, allowed: OptionName[], command: string): void {
  for (const name of Object.keys(given) as OptionName[])
    if (!COMMON.includes(name) && !allowed.includes(name))
      throw new UsageError(`--${name} does not belong to "${command}".`);
}

function idOf(given: Given): { id?: string } {
  return typeof given.id === 'string' ? { id: given.id } : {};
}

function compareCommand(given: Given, output: Output): Command {
  if (given.pairs !== undefined) {
    onlyThese(given, ['pairs', ...REPEATABILITY], 'compare --pairs');
    return {
      name: 'compare-batch',
      pairsFile: text(given, 'pairs'),
      ...repeatabilityOf(given),
      ...output,
    };
  }
  onlyThese(given, PAIR, 'compare');
  const pair: PairRequest = {
    ...idOf(given),
    baseline: text(given, 'baseline'),
    later: text(given, 'later'),
    view: viewOf(text(given, 'view')),
    baselineScale: scaleOf(given, 'baseline-scale'),
    laterScale: scaleOf(given, 'later-scale'),
    ...repeatabilityOf(given),
  };
  return { name: 'compare', pair, ...output };
}

/** "x1,y1,x2,y2" in picture pixels, or one angle in degrees. */
function lineOf(value: string): GivenLine {
  const numbers = value.split(/[,; ]+/).map(Number);
  const [a, b, c, d] = numbers;
  if (numbers.every(Number.isFinite)) {
    if (numbers.length === 1) return { angleDeg: a };
    if (numbers.length === 4 && Math.hypot(c - a, d - b) >= 2) return { from: [a, b], to: [c, d] };
  }
  throw new UsageError(
    `--line wants two places as x1,y1,x2,y2 in pixels, or one angle in degrees, not "${value}".`,
  );
}

function singleCommand(name: 'examine' | 'cantilever', given: Given, output: Output): Command {
  onlyThese(
    given,
    name === 'examine' ? [...SINGLE, 'other-light', ...REPEATABILITY] : [...SINGLE, 'line'],
    name,
  );
  const view = viewOf(text(given, 'view'));
  if (given['other-light'] !== undefined && view !== 'end-on')
    throw new UsageError('--other-light is of use with --view end-on only.');
  if (given['repeatability-s'] !== undefined && view !== 'front' && view !== 'side')
    throw new UsageError('--repeatability-s is of use with --view front or side only.');
  const single: SingleRequest = {
    ...idOf(given),
    image: text(given, 'image'),
    view,
    ...(given['other-light'] === undefined ? {} : { otherLight: text(given, 'other-light') }),
    scale: scaleOf(given, 'scale'),
    ...(given.line === undefined ? {} : { line: lineOf(text(given, 'line')) }),
    ...repeatabilityOf(given),
  };
  return { name, single, ...output };
}

function slideCommand(given: Given, output: Output): Command {
  onlyThese(given, SLIDE, 'scale');
  const image = text(given, 'image');
  const pitchUm = positive(given, 'pitch');
  if (pitchUm === null)
    throw new UsageError('--pitch is missing: micrometres from one line of the slide to the next.');
  const read = pitchSchema.safeParse(pitchUm);
  if (!read.success) throw new UsageError(`--pitch wants 1 to 10000 micrometres, not ${pitchUm}.`);
  const standard = positive(given, 'pitch-u', true);
  if (standard !== null && standard > 0.1 * pitchUm)
    throw new UsageError('--pitch-u wants a standard uncertainty of at most a tenth of the pitch.');
  const slide: SlideRequest = {
    ...idOf(given),
    image,
    turned: given.turned === undefined ? null : text(given, 'turned'),
    pitchUm,
    pitchRelativeStandard: standard === null ? null : standard / pitchUm,
  };
  return { name: 'scale', slide, ...output };
}

function parsed(args: string[]): { given: Given; positionals: string[] } {
  try {
    const { values, positionals } = parseArgs({ args, options: OPTIONS, allowPositionals: true });
    return { given: values, positionals };
  } catch (error) {
    throw new UsageError(error instanceof Error ? clearly(error.message, args) : String(error));
  }
}

/** Of a negative number node says that it may be an option: no figure here can be below zero. */
function clearly(message: string, args: readonly string[]): string {
  const at = args.findIndex((one, i) => /^-\d/.test(one) && (args[i - 1] ?? '').startsWith('--'));
  return at > 0 && message.includes('ambiguous')
    ? `${args[at - 1]} ${args[at]}: a number greater than zero is needed.`
    : message;
}

export function commandOf(args: string[]): Command {
  const { given, positionals } = parsed(args);
  const [name, ...rest] = positionals;
  if (given.help === true || name === 'help') return { name: 'help', about: rest[0] ?? name ?? '' };
  if (name === undefined)
    throw new UsageError('A command is missing: compare, examine, cantilever or scale.');
  if (rest.length > 0) throw new UsageError(`"${rest[0]}" was not expected.`);
  const limit = positive(given, 'time-limit') ?? DEFAULT_TIME_LIMIT_S;
  const output: Output = { json: given.json === true, timeLimitMs: limit * 1000 };
  if (name === 'compare') return compareCommand(given, output);
  if (name === 'examine' || name === 'cantilever') return singleCommand(name, given, output);
  if (name === 'scale') return slideCommand(given, output);
  throw new UsageError(`There is no command "${name}": compare, examine, cantilever and scale are.`);
}

export const HELP = `Stylus Daybook on the command line. These work on picture files and open no
collection; "collection" looks after one.

  npm run --silent daybook -- compare --baseline A --later B --view front [options]
  npm run --silent daybook -- compare --pairs pairs.jsonl [options]
  npm run --silent daybook -- examine --image A --view front [options]
  npm run --silent daybook -- cantilever --image A --view side [options]
  npm run --silent daybook -- scale --image SLIDE --pitch 100 [options]
  npm run --silent daybook -- collection --help

  --view V              ${viewSchema.options.join(', ')}
  --baseline-scale N    micrometres per pixel of the baseline; without a scale the answer counts in per cent of
  --later-scale N       the shank's width
  --scale N             the same for a single picture
  --baseline-scale-u N, --later-scale-u N, --scale-u N
                        standard uncertainty of that scale, µm/px (0.3 % when absent, said in the budget)
  --pitch N             scale: micrometres from one line of the ruled slide to the next, 10 to 1000 as a rule
  --pitch-u N           standard uncertainty of that pitch, µm (0.02 % of it when absent, said in the budget)
  --turned FILE         scale: a second picture of the same slide, turned by about a quarter; tells whether the
                        pixels are square
  --pairs FILE          one pair a line: {"id","view","baseline","baselineScaleUmPerPx","later","laterScaleUmPerPx"},
                        optional "baselineScaleUUmPerPx", "laterScaleUUmPerPx"; paths count from the file's folder
  --other-light FILE    end-on: the same part, not moved, lit from another side; patches that move are refused
  --line L              cantilever: the line its skew is told against, x1,y1,x2,y2 in pixels or an angle in
                        degrees, anticlockwise from level
  --repeatability-s N, --repeatability-n N
                        compare and examine: how far one reading of yours scatters (standard deviation, µm) and
                        from how many readings of a repeated stylus that is known (${LEAST_REPEATS} or more)
  --json                one JSON object a line on standard output, in the order of the input
  --id TEXT             a name that comes back in the answer
  --time-limit N        seconds for one picture or pair, ${DEFAULT_TIME_LIMIT_S} when absent

Exit status: 0 answered (a batch: every pair got a line), 1 refused, 2 wrong usage or an unreadable pairs file.
`;
