import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { commandOf } from '../../electron/daybook/arguments.ts';
import { textOf } from '../../electron/daybook/text.ts';
import {
  comparisonReportSchema,
  examinationReportSchema,
  type ComparisonAnswer,
} from '../../shared/index.ts';
import { buildHost, picture, root, temporaryFolder } from './support.ts';

beforeAll(buildHost);

type Ran = { status: number | null; out: string; err: string };
function daybook(args: string[], env: NodeJS.ProcessEnv = {}): Ran {
  const ran = spawnSync(process.execPath, [join(root, 'electron', 'daybook.mjs'), ...args], {
    encoding: 'utf8',
    env: { ...process.env, ...env },
  });
  return { status: ran.status, out: ran.stdout, err: ran.stderr };
}

const lines = (out: string): unknown[] =>
  out
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line) as unknown);

async function folderWithPictures(): Promise<string> {
  const folder = temporaryFolder();
  writeFileSync(join(folder, 'a.png'), await picture(40));
  writeFileSync(join(folder, 'b.png'), await picture(60));
  writeFileSync(join(folder, 'broken.jpg'), (await picture(40, 'jpeg')).slice(0, 200));
  return folder;
}

describe('usage', () => {
  it.each([
    [[], 'command is missing'],
    [['measure'], 'no command "measure"'],
    [['compare'], '--baseline is missing'],
    [['compare', '--baseline', 'a', '--later', 'b'], '--view is missing'],
    [['compare', '--baseline', 'a', '--later', 'b', '--view', 'top'], 'The view must be one of'],
    [
      ['compare', '--baseline', 'a', '--later', 'b', '--view', 'front', '--baseline-scale', '0'],
      'above zero',
    ],
    [['compare', '--baseline', 'a', '--later', 'b', '--view', 'front', '--later-scale', 'one'], 'above zero'],
    [['examine', '--image', 'a', '--view', 'front', '--scale-u', '0.1'], 'of no use'],
    [['examine', '--image', 'a', '--view', 'front', '--later', 'b'], 'does not belong'],
    [['examine', '--image', 'a', '--view', 'front', '--nonsense'], 'nonsense'],
    [['examine', '--image', 'a', '--view', 'front', '--other-light', 'b'], 'end-on only'],
    [['examine', '--image', 'a', '--view', 'side', '--line', '3'], 'does not belong'],
    [['cantilever', '--image', 'a', '--view', 'side', '--line', '3,x'], 'two places'],
    [['cantilever', '--image', 'a', '--view', 'side', '--line', '5,5,5,6'], 'two places'],
    [['examine', '--image', 'a', '--view', 'front', '--repeatability-s', '0.4'], 'belong together'],
    [
      ['examine', '--image', 'a', '--view', 'front', '--repeatability-s', '0.4', '--repeatability-n', '4'],
      '5 or more',
    ],
    [
      ['examine', '--image', 'a', '--view', 'end-on', '--repeatability-s', '0.4', '--repeatability-n', '6'],
      'front or side only',
    ],
    [['cantilever', '--image', 'a', '--view', 'side', '--repeatability-s', '0.4'], 'does not belong'],
    [['examine', 'extra', '--image', 'a', '--view', 'front'], 'not expected'],
  ])('that is wrong ends with a sentence: %j', (args, sentence) => {
    expect(() => commandOf(args)).toThrow(sentence);
  });

  it('takes the line of a skew as an angle or as two places, and a second light end-on', () => {
    const cantilever = ['cantilever', '--image', 'a', '--view', 'side', '--line'];
    expect(commandOf([...cantilever, '1.5'])).toMatchObject({
      single: { line: { angleDeg: 1.5 } },
    });
    expect(commandOf([...cantilever, '10,20,300,24'])).toMatchObject({
      single: { line: { from: [10, 20], to: [300, 24] } },
    });
    expect(commandOf(['examine', '--image', 'a', '--view', 'end-on', '--other-light', 'b'])).toMatchObject({
      single: { otherLight: 'b' },
    });
  });

  it('that is wrong exits with 2, says it on standard error and prints nothing', () => {
    const { status, out, err } = daybook(['compare', '--view', 'front']);
    expect([status, out]).toEqual([2, '']);
    expect(err).toContain('--baseline is missing');
  });

  it('is explained by --help', () => {
    const { status, out, err } = daybook(['--help']);
    expect([status, err]).toEqual([0, '']);
    for (const word of ['compare', 'examine', 'cantilever', '--pairs', '--json', 'Exit status'])
      expect(out).toContain(word);
  });

  it('takes a repeatability for both pictures of a pair, for a whole file of pairs and for one picture', () => {
    const study = ['--repeatability-s', '0,4', '--repeatability-n', '6'];
    const wall = { standardUm: 0.4, fitUm: null, degreesOfFreedom: 5 };
    const repeatability = { left: wall, right: wall, radius: null };
    const pair = ['compare', '--baseline', 'a', '--later', 'b', '--view', 'front', ...study];
    expect(commandOf(pair)).toMatchObject({ pair: { repeatability } });
    expect(commandOf(['compare', '--pairs', 'a', ...study])).toMatchObject({ repeatability });
    const one = ['examine', '--image', 'a', '--view', 'front', ...study];
    expect(commandOf(one)).toMatchObject({ single: { repeatability } });
  });

  it('takes a comma as a decimal point', () => {
    const command = commandOf(['examine', '--image', 'a', '--view', 'front', '--scale', '1,5']);
    expect(command).toMatchObject({ single: { scale: { umPerPx: 1.5, standardUmPerPx: null } } });
  });

  it('starts in about a second', () => {
    daybook(['--help']);
    const started = performance.now();
    daybook(['--help']);
    // Two cores that run tests beside this one: measured 0.2 s alone.
    expect(performance.now() - started).toBeLessThan(3_000);
  });
});

describe('single pictures', () => {
  it('that are refused exit with 1 and still print their JSON', async () => {
    const folder = await folderWithPictures();
    const image = join(folder, 'a.png');
    for (const args of [
      ['examine', '--image', image, '--view', 'front'],
      ['cantilever', '--image', image, '--view', 'side'],
      ['compare', '--baseline', image, '--later', join(folder, 'b.png'), '--view', 'front', '--id', 'x'],
    ]) {
      const { status, out } = daybook([...args, '--json']);
      expect(status, args[0]).toBe(1);
      const [report, ...rest] = lines(out);
      expect(rest).toEqual([]);
      expect(comparisonReportSchema.parse(report).ok).toBe(false);
    }
  });

  it.each(['broken.jpg', 'none.jpg', '.'])(
    'that cannot be read are refused by name of the reason: %s',
    async (name) => {
      const folder = await folderWithPictures();
      const { status, out } = daybook([
        'examine',
        '--image',
        join(folder, name),
        '--view',
        'front',
        '--scale',
        '1',
        '--json',
      ]);
      expect(status).toBe(1);
      expect(examinationReportSchema.parse(lines(out)[0])).toMatchObject({
        reason: { code: 'unreadable-image' },
      });
    },
  );

  it('are told to a person when --json is absent', async () => {
    const folder = await folderWithPictures();
    const { out } = daybook(['examine', '--image', join(folder, 'broken.jpg'), '--view', 'front']);
    expect(out).toMatch(/^Refused \(unreadable-image\): The picture: /);
  });

  it.each([
    ['examine', 'below', 'tip-not-found', /cantilever view.*the command cantilever/],
    ['examine', 'above', 'tip-not-found', /cantilever view.*the command cantilever/],
    ['cantilever', 'front', 'cantilever-not-found', /from the side, from below or from above/],
  ])('of %s in a picture from %s name what to do instead', async (command, view, code, sentence) => {
    const image = join(await folderWithPictures(), 'a.png');
    const ran = daybook([command, '--image', image, '--view', view, '--scale', '1', '--json']);
    expect(ran.status).toBe(1);
    const [report] = lines(ran.out) as { reason: { code: string; message: string } }[];
    expect(report.reason.code).toBe(code);
    expect(report.reason.message).toMatch(sentence);
  });

  it('of a pair that has no outline name what to do instead', async () => {
    const folder = await folderWithPictures();
    const files = ['--baseline', join(folder, 'a.png'), '--later', join(folder, 'b.png')];
    const ran = daybook(['compare', ...files, '--view', 'end-on', '--json']);
    expect(ran.status).toBe(1);
    const [report] = lines(ran.out) as { reason: { code: string; message: string } }[];
    expect(report.reason).toMatchObject({
      code: 'registration-failed',
      message: expect.stringMatching(/the command examine/) as string,
    });
  });

  it('end with timed-out when the time is up', async () => {
    const folder = await folderWithPictures();
    const args = [
      'examine',
      '--image',
      join(folder, 'a.png'),
      '--view',
      'front',
      '--time-limit',
      '0.001',
      '--json',
    ];
    const { status, out } = daybook(args);
    expect(status).toBe(1);
    expect(lines(out)[0]).toMatchObject({ ok: false, reason: { code: 'timed-out' } });
  });
});

describe('batches', () => {
  const pair = (id: string, baseline: string, later: string) =>
    JSON.stringify({ id, view: 'front', baseline, baselineScaleUmPerPx: 1, later, laterScaleUmPerPx: 1 });

  it('print one line for each pair in the order of the input, refused ones too, and exit with 0', async () => {
    const folder = await folderWithPictures();
    mkdirSync(join(folder, 'lists'));
    const names = ['a.png', 'broken.jpg', 'b.png', 'none.png'];
    const pairs = Array.from({ length: 12 }, (_, i) => pair(`p${i}`, `../${names[i % 4]}`, '../b.png'));
    const file = join(folder, 'lists', 'pairs.jsonl');
    writeFileSync(file, `\uFEFF${pairs.join('\r\n')}\n\n`);
    const { status, out } = daybook(['compare', '--pairs', file, '--json']);
    expect(status).toBe(0);
    const reports = lines(out).map((report) => comparisonReportSchema.parse(report));
    expect(reports.map((report) => report.id)).toEqual(pairs.map((_, i) => `p${i}`));
    const codes = reports.map((report) => (report.ok ? '' : report.reason.code));
    // Relative paths count from the file's own folder: the readable ones were read.
    expect(codes.filter((_, i) => i % 2 === 1)).toEqual(Array.from({ length: 6 }, () => 'unreadable-image'));
    expect(codes.filter((_, i) => i % 2 === 0)).not.toContain('unreadable-image');
  });

  it.each([
    ['no file', null],
    ['no JSON', '{"id":1,'],
    ['a missing picture', '{"id":"1","view":"front","later":"b"}'],
    ['an unknown view', '{"id":"1","view":"top","baseline":"a","later":"b"}'],
    ['an impossible scale', '{"id":"1","view":"front","baseline":"a","later":"b","laterScaleUmPerPx":-1}'],
  ])('with %s exit with 2 before anything is measured', (_name, content) => {
    const file = join(temporaryFolder(), 'pairs.jsonl');
    if (content !== null) writeFileSync(file, `${pair('good', 'a.png', 'b.png')}\n${content}\n`);
    const { status, out, err } = daybook(['compare', '--pairs', file, '--json']);
    expect([status, out]).toEqual([2, '']);
    expect(err).toContain(content === null ? 'cannot be read' : 'line 2');
  });

  it('may be cut off by their reader', async () => {
    const folder = await folderWithPictures();
    const file = join(folder, 'pairs.jsonl');
    writeFileSync(
      file,
      Array.from({ length: 50 }, (_, i) => pair(`${i}`, 'none.png', 'none.png')).join('\n'),
    );
    const child = spawn(process.execPath, [
      join(root, 'electron', 'daybook.mjs'),
      'compare',
      '--pairs',
      file,
      '--json',
    ]);
    let err = '';
    child.stderr.on('data', (part: Buffer) => (err += part.toString()));
    child.stdout.once('data', () => child.stdout.destroy());
    const status = await new Promise((done) => child.once('exit', done));
    expect([status, err]).toEqual([0, '']);
  });
});

it('opens no collection', async () => {
  const folder = await folderWithPictures();
  const data = join(folder, 'data');
  const image = join(folder, 'a.png');
  daybook(['examine', '--image', image, '--view', 'front'], {
    XDG_DATA_HOME: data,
    DAYBOOK_COLLECTION: join(data, 'c'),
  });
  expect(existsSync(data)).toBe(false);
  expect(readdirSync(folder).toSorted()).toEqual(['a.png', 'b.png', 'broken.jpg']);
});

describe('for a person', () => {
  const m = (value: number, expanded: number) => ({ value, expanded });
  const flat = (value: number, detected: boolean) => ({
    baselineUm: m(0, 2),
    laterUm: m(value, 0.53),
    changeUm: m(value, 2.1),
    decisionThresholdUm: 4.4,
    detectionLimitUm: 5.04,
    detected,
  });
  const report: ComparisonAnswer = {
    ok: true,
    reportVersion: 1,
    engineVersion: '0',
    suspicions: [],
    warnings: [],
    timingMs: 1,
    registration: { rotationDeg: 1, scaleRatio: 1, residualUm: 0.1 },
    sharpness: { baselineEdgeUm: 4, laterEdgeUm: 4 },
    tip: { radiusUm: m(17.66, 0.42), arcDeg: 68 },
    contour: {
      areaLostUm2: m(7.33, 0.75),
      areaGainedUm2: m(0, 0.3),
      largestRecessionUm: m(0.6354, 0.058),
      largestGrowthUm: m(0, 0.3),
    },
    flats: { left: flat(9.6209, true), right: flat(0, false) },
  };

  it('rounds value and uncertainty together and never says 0 for what was not seen', () => {
    const text = textOf(report, 'compare');
    expect(text).toContain('Flat left: 9.62 ± 0.53\u00A0µm');
    expect(text).toContain('Flat right: not detected, below 5.1\u00A0µm');
    expect(text).toContain('Largest recession: 0.635 ± 0.058\u00A0µm');
  });
});
