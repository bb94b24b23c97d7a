import { describe, expect, it } from 'vitest';
import {
  checkText,
  DECK_PARTS,
  findingDoubt,
  mainsDoubt,
  reckoning,
  type ListeningCheck,
  type OfferDraft,
} from '../../shared/index.ts';

describe('the line of a listening check', () => {
  const check: ListeningCheck = {
    cleaning: 'after',
    passageIds: [],
    heard: [
      { symptom: 'splashy-sibilants', answer: 'new', channel: '' },
      { symptom: 'one-channel', answer: 'worse', channel: 'right channel' },
      { symptom: 'inner-grooves', answer: 'not-listened', channel: '' },
    ],
    verdict: 'worse',
  };

  it('says what was heard on what, and leaves out what nobody listened for', () => {
    expect(checkText(check, ['Song', '1 kHz'], '')).toBe(
      'On Song, 1 kHz, after cleaning; splashing sibilants: new; one channel worse: worse than before (right channel); on the whole worse than before.',
    );
    expect(checkText({ ...check, heard: [] }, [], 'my own words')).toBe(
      'Listened after cleaning; on the whole worse than before.\nmy own words',
    );
  });
});

describe('a turntable on offer', () => {
  const offer = (
    answers: Record<string, OfferDraft['checks'][number]['answer']>,
  ): Pick<OfferDraft, 'checks'> => ({
    checks: DECK_PARTS.map((part) => ({ part, answer: answers[part] ?? 'not-done', note: '' })),
  });

  it('is not plugged in before lead, plug and voltage are all in order', () => {
    expect(mainsDoubt(offer({}))).toBe(true);
    expect(mainsDoubt({ checks: [] })).toBe(true);
    expect(mainsDoubt(offer({ 'lead-and-plug': 'in-order' }))).toBe(true);
    expect(mainsDoubt(offer({ 'lead-and-plug': 'in-order', voltage: 'doubtful' }))).toBe(true);
    expect(mainsDoubt(offer({ 'lead-and-plug': 'in-order', voltage: 'in-order' }))).toBe(false);
  });

  it('has no speed and no sound before its mains are in order', () => {
    const mains = { 'lead-and-plug': 'in-order', voltage: 'in-order' } as const;
    for (const part of ['speed', 'sound'] as const) {
      const early = offer({ [part]: 'in-order', 'lead-and-plug': 'in-order', voltage: 'doubtful' });
      expect(findingDoubt(early, part)).toMatch(/^Does not count yet: lead, plug and voltage/);
      expect(findingDoubt(offer({ [part]: 'faulty' }), part)).not.toBeNull();
      expect(findingDoubt(offer({ [part]: 'in-order', ...mains }), part)).toBeNull();
      expect(findingDoubt(offer({}), part)).toBeNull();
    }
    expect(findingDoubt(offer({ platter: 'in-order' }), 'platter')).toBeNull();
  });

  it('adds up what is known and counts what is not', () => {
    expect(
      reckoning({
        price: 120,
        costs: [
          { what: 'Stylus', amount: 60.5 },
          { what: 'Belt', amount: null },
        ],
      }),
    ).toEqual({
      known: 180.5,
      open: 1,
    });
    expect(reckoning({ price: null, costs: [] })).toEqual({ known: 0, open: 1 });
  });
});
