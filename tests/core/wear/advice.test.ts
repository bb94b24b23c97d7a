import { describe, expect, it } from 'vitest';
import {
  addMonths,
  adviseOn,
  type AdviceOutcome,
  dateAtHours,
  type Evidence,
  nextLook,
} from '../../../core/wear/index.ts';
import { ADVICE_WORDS } from '../../../shared/index.ts';

const flat = (value: number, expanded = 0.8) => ({
  value,
  expanded,
  detected: value > 2,
  detectionLimit: 4.5,
});

/** A sound stylus at 120 h, looked at last month. */
const sound: Evidence = {
  today: '2031-05-10',
  lastLook: '2031-04-10',
  newerPicture: null,
  hoursNow: 120,
  historyKnown: true,
  hoursPerWeek: 5,
  hoursBand: [400, 1000],
  left: flat(3.1),
  right: flat(3.4),
  mirrored: false,
  limitUm: 10,
  limitHours: { low: 700, high: 2500 },
  chip: 'none',
  bentCantilever: 'none',
  diamond: 'sound',
  diamondConfirmed: false,
  residue: 'none',
  listening: 'same',
  recorded: { thd: null, above5k: null },
  causes: {
    dirt: 'in-order',
    alignment: 'in-order',
    'tracking-force': 'in-order',
    'anti-skating': 'in-order',
    azimuth: 'in-order',
    record: 'in-order',
  },
  setUpChecked: false,
};

describe('advice', () => {
  const cases: [string, Partial<Evidence>, AdviceOutcome, string][] = [
    ['a sound stylus', {}, 'play-on', 'walls-below-limit'],
    ['a confirmed chip', { chip: 'confirmed' }, 'take-off', 'chip'],
    ['a suspected chip', { chip: 'suspected' }, 'look-again', 'chip-suspected'],
    [
      'a suspected chip on one to be replaced',
      { chip: 'suspected', historyKnown: false },
      'look-again',
      'chip-suspected',
    ],
    ['a newer picture that nobody measured', { newerPicture: '2031-05-02' }, 'cannot-tell', 'newer-picture'],
    ['a confirmed bent cantilever', { bentCantilever: 'confirmed' }, 'take-off', 'bent-cantilever'],
    ['a turned diamond, confirmed', { diamond: 'turned', diamondConfirmed: true }, 'take-off', 'diamond'],
    ['a leaning diamond, not confirmed', { diamond: 'leaning' }, 'look-again', 'diamond-suspected'],
    ['a suspected bend', { bentCantilever: 'suspected' }, 'look-again', 'bent-cantilever-suspected'],
    ['a flat surely beyond the limit', { left: flat(12) }, 'take-off', 'limit-passed'],
    ['a flat perhaps at the limit', { left: flat(9.6), right: flat(9.4) }, 'order-one', 'limit-near'],
    ['a limit within half a year', { limitHours: { low: 200, high: 900 } }, 'order-one', 'limit-near'],
    ['unknown history', { historyKnown: false, hoursNow: null }, 'order-one', 'history-unknown'],
    ['more hours than anyone plays', { hoursNow: 1100 }, 'order-one', 'hours-spent'],
    ['residue', { residue: 'seen' }, 'clean-and-look', 'residue'],
    ['residue that stays', { residue: 'stays-after-cleaning' }, 'order-one', 'residue-stays'],
    ['uneven walls', { left: flat(6), right: flat(3) }, 'check-set-up', 'walls-uneven'],
    [
      'worse sound, set-up unchecked',
      { listening: 'worse', causes: { ...sound.causes, azimuth: 'not-checked' } },
      'check-set-up',
      'listening',
    ],
    ['worse sound, all else ruled out', { listening: 'worse' }, 'order-one', 'what-is-left'],
    [
      'a set-up that is still wrong',
      { causes: { ...sound.causes, 'anti-skating': 'found' } },
      'check-set-up',
      'set-up-found',
    ],
    ['dirt that was found', { causes: { ...sound.causes, dirt: 'found' } }, 'clean-and-look', 'dirt-found'],
    [
      'more distortion in a recorded band',
      {
        recorded: {
          thd: {
            band: '1 kHz',
            earlier: { value: 0.5, expanded: 0.1 },
            later: { value: 0.9, expanded: 0.1 },
          },
          above5k: null,
        },
        causes: { ...sound.causes, dirt: 'not-checked' },
      },
      'check-set-up',
      'recorded',
    ],
    [
      'less treble in a recorded passage',
      {
        recorded: { thd: null, above5k: { passage: 'song', changeDb: { value: -3, expanded: 0.5 } } },
        causes: { ...sound.causes, alignment: 'not-checked' },
      },
      'check-set-up',
      'recorded',
    ],
  ];

  it.each(cases)('%s', (_name, change, outcome, rule) => {
    const advice = adviseOn({ ...sound, ...change });
    expect(advice.outcome).toBe(outcome);
    const step = advice.steps.find((s) => s.rule === rule)!;
    expect(step.state).toBe('speaks');
    expect(step.outcome).toBe(outcome);
  });

  it.each([
    ['play-on', {}],
    ['play-on', { lastLook: '2030-04-10' }],
    ['order-one', { hoursNow: 1100 }],
    ['check-set-up', { left: flat(6), right: flat(3) }],
    ['cannot-tell', { left: null, right: null }],
    ['take-off', { chip: 'confirmed' }],
  ] as const)('does not say twice what the words before it say: %s', (outcome, change) => {
    const advice = adviseOn({ ...sound, ...change });
    expect(advice.outcome).toBe(outcome);
    const words = ADVICE_WORDS[outcome].toLowerCase();
    expect(advice.sentence.toLowerCase()).not.toContain(words);
    expect(advice.sentence.split(' ')[0]).not.toBe(ADVICE_WORDS[outcome].split(' ')[0]);
    expect(advice.sentence).toMatch(/^[A-Z].*\.$/);
  });

  it('shows every rule with what went in and where it comes from', () => {
    const advice = adviseOn(sound);
    expect(advice.steps.length).toBeGreaterThan(12);
    expect(new Set(advice.steps.map((s) => s.rule)).size).toBe(advice.steps.length);
    for (const step of advice.steps) {
      expect(step.inputs.length).toBeGreaterThan(0);
      expect(step.source).not.toBe('');
      expect(step.sentence).toMatch(/[.:]$|\.$/);
    }
  });

  it('rounds what went in, whatever it was worked out of', () => {
    const given = (change: Partial<Evidence>): string[] =>
      adviseOn({ ...sound, ...change })
        .steps.find((step) => step.rule === 'limit-near')!
        .inputs.slice(2)
        .map(({ name, value }) => `${name}: ${value}`);
    expect(given({ hoursPerWeek: 22 / 15, hoursNow: 1234.5678, limitUm: 0.1 + 10.06 })).toEqual([
      'your limit, µm: 10.16',
      'reached at hours: 700 to 2\u202f500',
      'hours now: 1\u202f234.6',
      'hours a week: 1.5',
    ]);
    expect(given({ hoursPerWeek: 0.0333333 }).at(-1)).toBe('hours a week: 0.033');
    expect(given({ hoursPerWeek: 0 }).at(-1)).toBe('hours a week: 0');
  });

  it('cannot tell when nothing was measured, and says what is missing', () => {
    const advice = adviseOn({
      ...sound,
      left: null,
      right: null,
      limitUm: null,
      limitHours: null,
      hoursNow: 50,
      diamond: 'not-seen',
      chip: 'not-looked',
      bentCantilever: 'not-looked',
      residue: 'not-seen',
      listening: 'not-done',
    });
    expect(advice.outcome).toBe('cannot-tell');
    expect(advice.unknown.length).toBeGreaterThan(4);
  });

  it('asks for the newest picture by its day, and does not say that no picture is there', () => {
    const advice = adviseOn({ ...sound, newerPicture: '2031-05-02' });
    expect(advice.sentence).toMatch(/^Measure the picture of 2\sMay\s2031 first/);
  });

  it('says of a check that could not tell that it was done', () => {
    const advice = adviseOn({ ...sound, listening: 'unsure' });
    const step = advice.steps.find((one) => one.rule === 'listening');
    expect(step?.state).toBe('unknown');
    expect(step?.sentence).toMatch(/could not say/);
  });

  it('does not call a picture good enough that could not have shown the limit', () => {
    const blind = { ...flat(0), detectionLimit: 14 };
    expect(adviseOn({ ...sound, left: blind, right: blind, limitHours: null }).outcome).toBe('cannot-tell');
  });

  it('names the wall by the camera', () => {
    const uneven = { ...sound, left: flat(6), right: flat(3) };
    const say = (mirrored: boolean | null) =>
      adviseOn({ ...uneven, mirrored }).steps.find((s) => s.rule === 'walls-uneven')!.sentence;
    expect(say(false)).toMatch(/inner wall \(left channel/);
    expect(say(true)).toMatch(/outer wall \(right channel/);
    expect(say(null)).toMatch(/whether the camera mirrors/);
    expect(adviseOn(uneven).wall).toBe('left');
    const place = (mirrored: boolean | null) => adviseOn({ ...uneven, mirrored }).wallInGroove;
    expect(place(false)).toEqual({ side: 'inner', channel: 'left' });
    expect(place(true)).toEqual({ side: 'outer', channel: 'right' });
    expect(place(null)).toBeNull();
    // Checked since: the diamond keeps the difference, but nobody is sent to the set-up again.
    const checked = adviseOn({ ...uneven, setUpChecked: true });
    expect(checked).toMatchObject({ outcome: 'play-on', wall: 'left' });
    expect(adviseOn(sound).wall).toBeNull();
  });

  it('sends nobody to the brush for a bend, and nobody to bend it back', () => {
    const { sentence, steps } = adviseOn({ ...sound, bentCantilever: 'suspected', residue: 'seen' });
    expect(sentence).not.toMatch(/[Cc]lean/);
    const said = steps.find((step) => step.rule === 'bent-cantilever-suspected')?.sentence;
    expect(said).toMatch(/another side.*baseline.*Do not bend it back.*maker’s instructions/);
  });

  it('damage goes before dirt, dirt before set-up', () => {
    const all: Partial<Evidence> = { left: flat(6), right: flat(3), residue: 'seen' };
    expect(adviseOn({ ...sound, ...all }).outcome).toBe('clean-and-look');
    expect(adviseOn({ ...sound, ...all, chip: 'confirmed' }).outcome).toBe('take-off');
  });

  it('lists other causes first when it sounds worse', () => {
    expect(
      adviseOn({
        ...sound,
        listening: 'worse',
        causes: { ...sound.causes, 'anti-skating': 'not-checked' },
      }).ruleOutFirst,
    ).toEqual(['anti-skating']);
    expect(adviseOn(sound).ruleOutFirst).toEqual([]);
  });
});

describe('the next look', () => {
  const input = {
    today: '2031-05-10',
    lastLook: '2031-04-10',
    hoursNow: 100,
    hoursPerWeek: 5,
    hoursBand: [400, 1000] as const,
    limitHoursLow: null,
    uneven: false,
  };

  it('is six months on, three when the band is near or the walls differ, half-way to the limit when that is sooner', () => {
    expect(nextLook(input)).toMatchObject({ date: '2031-10-10', overdue: false });
    expect(nextLook({ ...input, uneven: true }).date).toBe('2031-07-10');
    expect(nextLook({ ...input, hoursNow: 350 }).date).toBe('2031-07-10');
    // 50 hours at 5 a week are 70 days, half of them 35.
    expect(nextLook({ ...input, limitHoursLow: 150 }).date).toBe('2031-06-14');
    expect(nextLook({ ...input, lastLook: '2030-08-01' })).toMatchObject({
      date: '2031-02-01',
      overdue: true,
    });
    expect(nextLook({ ...input, lastLook: null })).toMatchObject({ date: '2031-05-10' });
  });

  it('knows the calendar', () => {
    expect(addMonths('2031-08-31', 6)).toBe('2032-02-29');
    expect(addMonths('2031-12-15', 1)).toBe('2032-01-15');
    expect(dateAtHours('2031-05-10', 100, 150, 5)).toBe('2031-07-19');
    expect(dateAtHours('2031-05-10', 100, 90, 5)).toBe('2031-05-10');
    expect(dateAtHours('2031-05-10', 100, 150, 0)).toBeNull();
    expect(dateAtHours('2031-05-10', 100, Infinity, 5)).toBeNull();
    expect(() => addMonths('10.5.2031', 1)).toThrow(/YYYY-MM-DD/);
  });
});
