import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { describe, expect, it } from 'vitest';
import { dateText, readDate } from '../../renderer/importing/dates.ts';
import {
  answered,
  markTwins,
  proposeBaselines,
  readRow,
  startAnswers,
  withOffer,
  type IntakeRow,
} from '../../renderer/importing/intake.ts';
import { ScaleFields } from '../../renderer/importing/scale-fields.tsx';
import { carryCandidates, NO_SCALE, readScale, type ScaleText } from '../../renderer/importing/scale.ts';
import { readStylus, textOf } from '../../renderer/shelf/stylus-form.ts';
import { stylusDraftSchema, type Offered } from '../../shared/index.ts';
import { captureRow, pageOf, stylusRow } from './fake-host.ts';

const scale = (part: Partial<ScaleText>): ScaleText => ({ ...NO_SCALE, ...part });

describe('the stylus form', () => {
  it('makes a draft that the contract accepts', () => {
    const { draft } = readStylus({ ...textOf(null, 'um'), name: ' Spare ', radius: '18,0' }, 'um');
    expect(stylusDraftSchema.parse(draft)).toMatchObject({ name: 'Spare', radiusUm: 18, startHours: 0 });
  });

  it('takes mil for people who use them: 0.7 mil are 17.78 µm', () => {
    const { draft } = readStylus({ ...textOf(null, 'mil'), name: 'x', radius: '0.7' }, 'mil');
    expect(draft?.radiusUm).toBeCloseTo(17.78, 10);
    expect(textOf({ ...stylusRow(), radiusUm: 17.78 }, 'mil').radius).toBe('0.7');
  });

  it('keeps "unknown history" apart from 0 h, and insists on one of the two', () => {
    const text = { ...textOf(null, 'um'), name: 'x', startHours: '' };
    expect(readStylus({ ...text, historyKnown: false }, 'um').draft?.startHours).toBeNull();
    expect(readStylus({ ...text, startHours: '0' }, 'um').draft?.startHours).toBe(0);
    expect(readStylus(text, 'um').errors.startHours).toContain('history is unknown');
  });

  it.each([
    ['radius', 'eighteen'],
    ['radius', '0'],
    ['radius', '501'],
    ['price', '-1'],
  ] as const)('names the field %s for %j', (field, value) => {
    const { draft, errors } = readStylus({ ...textOf(null, 'um'), name: 'x', [field]: value }, 'um');
    expect(draft).toBeNull();
    expect(errors[field]).toBeTruthy();
  });

  it.each([
    ['startHours', '-3', 'Hours at the start must be 0 or more.'],
    ['radius', '-3', 'Tip radius must be more than 0, or left empty.'],
    ['startDate', '2999-01-01', '1\u00a0Jan\u00a02999 lies in the future. Look at the year.'],
  ] as const)('says of %s = %s: %s', (field, value, sentence) => {
    const read = readStylus({ ...textOf(null, 'um'), name: 'x', [field]: value }, 'um');
    expect(read).toEqual({ draft: null, errors: { [field]: sentence } });
  });

  it('takes no side radius that is larger than the tip radius', () => {
    const stylusOfRadii = (radius: string, sideRadius: string) =>
      readStylus({ ...textOf(null, 'um'), name: 'x', radius, sideRadius }, 'um');
    expect(stylusOfRadii('18', '18,1').draft).toBeNull();
    expect(stylusOfRadii('18', '18,1').errors.sideRadius).toContain('the smaller one');
    for (const [radius, side] of [
      ['18', '8'],
      ['18', '18'],
      ['', '8'],
      ['18', ''],
    ] as const)
      expect(stylusOfRadii(radius, side).errors).toEqual({});
  });
});

describe('a scale', () => {
  it('is nothing when nobody knows it', () => {
    expect(readScale(NO_SCALE, [])).toEqual({ scale: null, error: null });
  });

  it('is typed with half of its 95 % range as standard uncertainty', () => {
    const read = readScale(scale({ way: 'typed', typed: '1,02', typedPlusMinus: '0,004' }), []);
    expect(read.scale).toEqual({ umPerPx: 1.02, standardUmPerPx: 0.002, source: 'typed' });
    expect(readScale(scale({ way: 'typed', typed: '1.02' }), []).scale?.standardUmPerPx).toBeNull();
    expect(readScale(scale({ way: 'typed', typed: '-1' }), []).error).toBeTruthy();
  });

  it('comes from two points: 3-4-5, 1000 µm over 500 px', () => {
    const text = scale({
      way: 'two-points',
      first: { x: 100, y: 100 },
      second: { x: 400, y: 500 },
      distance: '1',
      distanceUnit: 'mm',
      distancePlusMinus: '0.002',
    });
    const read = readScale(text, []);
    expect(read.scale?.umPerPx).toBeCloseTo(2, 12);
    // Distance: 0.001 / 1 relative. Pointing: sqrt(2) 0.7 px / 500 px. Together 0.002218 of 2 um/px.
    expect(read.scale?.standardUmPerPx).toBeCloseTo(2 * Math.hypot(0.001, (Math.SQRT2 * 0.7) / 500), 10);
  });

  it('is refused at the field that is wrong, not at the list of ways', () => {
    const two = { way: 'two-points', first: { x: 0, y: 0 }, second: { x: 300, y: 0 } } as const;
    const at = (text: Partial<ScaleText>): string | undefined => readScale(scale(text), []).at;
    expect(at({ way: 'typed', typed: '-3' })).toBe('typed');
    expect(at({ way: 'typed', typed: '0' })).toBe('typed');
    expect(at({ way: 'typed', typed: '1.02', typedPlusMinus: '-1' })).toBe('typedPlusMinus');
    expect(at({ way: 'two-points' })).toBe('points');
    expect(at({ ...two, distance: '-100' })).toBe('distance');
    expect(at({ ...two, distance: '100', distancePlusMinus: '100' })).toBe('distancePlusMinus');
    const markup = renderToStaticMarkup(
      createElement(ScaleFields, {
        context: null,
        text: scale({ way: 'typed', typed: '-3' }),
        candidates: [],
        picture: null,
        error: 'Above zero.',
        onChange: () => undefined,
      }),
    );
    expect(markup.match(/<(\w+)[^>]*aria-invalid/g)?.map((tag) => tag.slice(1, 7))).toEqual(['input ']);
  });

  it('refuses two points on one spot and a missing second one', () => {
    const one = scale({ way: 'two-points', first: { x: 1, y: 1 }, distance: '10' });
    expect(readScale(one, []).error).toContain('Click both ends');
    expect(readScale({ ...one, second: { x: 3, y: 1 } }, []).error).toContain('too close');
  });

  it('is carried over only from the same microscope and frame size', () => {
    const stylus = stylusRow();
    const rows = {
      styluses: [stylus],
      captures: [
        captureRow(stylus.id, { microscope: 'Scope ' }),
        captureRow(stylus.id, { microscope: 'other' }),
        captureRow(stylus.id, { widthPx: 800 }),
        captureRow(stylus.id, { scale: null }),
      ],
      comparisons: [],
      entries: [],
    };
    const pages = [pageOf(rows, stylus.id)];
    const found = carryCandidates(pages, { widthPx: 640, heightPx: 480, microscope: 'scope' });
    expect(found.map((capture) => capture.id)).toEqual([rows.captures[0].id]);
    expect(carryCandidates(pages, { widthPx: 640, heightPx: 480, microscope: '' })).toEqual([]);
    const read = readScale(scale({ way: 'carried-over', carriedId: found[0].id }), found);
    expect(read.scale).toEqual({ umPerPx: 1, standardUmPerPx: null, source: 'carried-over' });
  });
});

describe('a date', () => {
  const exif = { wall: '2024-03-02T15:10:30', offset: '+01:00', source: 'exif' as const };

  it('keeps its origin, its seconds and its offset while nobody changes it', () => {
    expect(readDate(dateText(exif)).taken).toEqual(exif);
  });

  it('becomes the person’s once it is changed', () => {
    expect(readDate({ ...dateText(exif), day: '2024-03-03' }).taken).toEqual({
      wall: '2024-03-03T15:10',
      offset: null,
      source: 'person',
    });
  });

  it('is asked for, and only the person can call it unknown', () => {
    expect(readDate(dateText(null)).error).toContain('When was it taken?');
    expect(readDate({ ...dateText(null), unknown: true })).toEqual({ taken: null, error: null });
  });
});

describe('many files at once', () => {
  const offer = (widthPx: number): Offered => ({
    token: 't',
    fileName: 'f',
    sha256: '',
    mediaType: 'image/png',
    widthPx,
    heightPx: 480,
    taken: null,
    duplicateOf: null,
    warnings: [],
  });
  const row = (key: number, day: string, widthPx = 640): IntakeRow => ({
    key,
    file: new File([], `${key}.png`),
    path: `${key}.png`,
    url: '',
    twinOf: null,
    chosen: false,
    status: 'ready',
    offer: offer(widthPx),
    problem: null,
    answers: { ...startAnswers('stylus001', []), view: 'front', date: { ...dateText(null), day } },
  });

  it('proposes the earliest of a view as baseline, and none where one exists', () => {
    const rows = proposeBaselines([row(1, '2024-07-01'), row(2, '2024-01-01'), row(3, '')], []);
    expect(rows.map((one) => one.answers.isBaseline)).toEqual([false, true, false]);
    const stylus = stylusRow({ id: 'stylus001' });
    const captures = [captureRow(stylus.id, { isBaseline: true })];
    const page = pageOf({ styluses: [stylus], captures, comparisons: [], entries: [] }, stylus.id);
    expect(proposeBaselines(rows, [page]).some((one) => one.answers.isBaseline)).toBe(false);
  });

  const styluses = [
    { id: 'stylus001', name: 'Deck 1' },
    { id: 'stylus012', name: 'Deck 12' },
  ];
  const guessing = (part: Partial<Offered>): Offered => ({ ...offer(640), ...part });
  const guess: NonNullable<Offered['guess']> = {
    view: { value: 'side', from: 'file-name' },
    light: { value: 'ring', from: 'picture' },
    slide: false,
  };
  const unowned = (path: string): IntakeRow => {
    const one = row(1, '');
    return { ...one, path, offer: null, answers: { ...one.answers, stylusId: '', view: '' } };
  };

  it('are guessed at, and no guess goes in before somebody has said that it is right', () => {
    const read = withOffer(unowned('pictures/deck 12/a.png'), guessing({ guess }), styluses);
    const { answers } = read;
    expect([answers.stylusId, answers.view, answers.light]).toEqual(['stylus012', 'side', 'ring']);
    expect(answers.guessed).toEqual({ stylus: 'file-name', view: 'file-name', light: 'picture' });
    const dated = { ...read, answers: { ...answers, date: { ...dateText(null), day: '2024-01-01' } } };
    expect(readRow(dated, []).input).toBeNull();
    expect(readRow(dated, []).errors.guess).toMatch(/guess/);
    const changed = { ...dated, answers: answered(dated.answers, { view: 'front' }) };
    expect(changed.answers.guessed).toEqual({ stylus: 'file-name', light: 'picture' });
    const right = { ...changed, answers: answered(changed.answers, { guessed: {} }) };
    expect(readRow(right, []).input).toMatchObject({ stylusId: 'stylus012', view: 'front', light: 'ring' });
  });

  it('keep a view open that nothing tells, and leave a ruled slide and known pictures out', () => {
    const blank = withOffer(unowned('b.png'), guessing({}), styluses);
    expect([blank.answers.view, readRow(blank, []).errors.view]).toEqual(['', 'Which view is it?']);
    const slide = withOffer(unowned('b.png'), guessing({ guess: { ...guess, slide: true } }), styluses);
    const known = withOffer(
      unowned('b.png'),
      guessing({ duplicateOf: { captureId: 'capture001', stylusName: 'x' } }),
      styluses,
    );
    expect([blank.answers.take, slide.answers.take, known.answers.take]).toEqual([true, false, false]);
  });

  it('of the same content are noticed inside one batch, and no more when the first one goes', () => {
    const of = (key: number, sha256: string): IntakeRow => ({ ...row(key, ''), offer: guessing({ sha256 }) });
    const rows = markTwins([of(1, 'a'), of(2, 'b'), of(3, 'a')]);
    expect(rows.map((one) => [one.twinOf, one.answers.take])).toEqual([
      [null, true],
      [null, true],
      ['1.png', false],
    ]);
    expect(markTwins(rows.slice(1)).map((one) => [one.twinOf, one.answers.take])).toEqual([
      [null, true],
      [null, true],
    ]);
  });
});
