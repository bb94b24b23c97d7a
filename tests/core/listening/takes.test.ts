import { describe, expect, it } from 'vitest';
import { takesOf } from '../../../core/listening/takes.ts';
import { coverageFactor } from '../../../core/uncertainty/index.ts';
import type { Recording } from '../../../shared/index.ts';

const recording = (recordedOn: string, value: number, expanded: number): Recording => ({
  id: `recording${value}`.replaceAll(/\W/g, '0'),
  stylusId: 'stylus00000',
  passageId: 'passage0000',
  sha256: '',
  fileName: '',
  recordedOn,
  cleaning: 'none',
  notes: '',
  sampleRate: 48_000,
  channelCount: 1,
  bits: 16,
  float: false,
  seconds: 3,
  engineVersion: '0',
  createdAt: '',
  binnedAt: null,
  tone: {
    ok: true,
    value: {
      kind: 'tone',
      nominalHz: 1000,
      frequencyHz: 1000,
      speedErrorPercent: 0,
      wowPercent: 0,
      usedSeconds: 3,
      segments: 12,
      window: '',
      channels: [
        {
          name: 'mono',
          levelDb: { value: -10, expanded: 0.01 },
          harmonics: [],
          thdPercent: { value, expanded },
          thdDetected: true,
          thdLimitPercent: 0.01,
        },
      ],
      balanceDb: null,
      separationDb: null,
      warnings: [],
    },
  },
});

describe('takes of one day', () => {
  it('carry the spread of putting the needle down again, not that of the pieces of one', () => {
    const [first, second] = takesOf([
      recording('2024-01-01', 0.5, 0.01),
      recording('2024-01-01', 0.6, 0.01),
      recording('2024-01-01', 0.7, 0.01),
      recording('2025-01-01', 0.9, 0.02),
    ]);
    expect(first).toMatchObject({ count: 3, recordedOn: '2024-01-01' });
    expect(first.channels[0].thdPercent.value).toBeCloseTo(0.6, 12);
    // s = 0.1 of three readings: t(95.45 %, 2) s / sqrt(3), JCGM 100:2008, 4.2.
    expect(first.channels[0].thdPercent.expanded).toBeCloseTo((coverageFactor(2) * 0.1) / Math.sqrt(3), 12);
    expect(second).toMatchObject({ count: 1, channels: [{ thdPercent: { value: 0.9, expanded: 0.02 } }] });
  });

  it('that agree by chance keep the doubt of the single ones', () => {
    const [take] = takesOf([recording('2024-01-01', 0.5, 0.04), recording('2024-01-01', 0.5, 0.04)]);
    expect(take.channels[0].thdPercent.expanded).toBeCloseTo(Math.hypot(0.04, 0.04) / 2, 12);
    expect(takesOf([])).toEqual([]);
  });
});
