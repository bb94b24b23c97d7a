import { describe, expect, it } from 'vitest';
import { formTitle, nothingOpenText, suspicionName } from '../../renderer/marks/mark-text.ts';
import type { MarkDraft, MarkSize, Suspicion } from '../../shared/index.ts';

const plain = (text: string): string => text.replaceAll('\u00a0', ' ');

describe('what is suspected, by name', () => {
  const named = (suspicion: Suspicion, size: MarkSize | null): string =>
    plain(suspicionName({ suspicion, draft: { size } as MarkDraft }, 'um'));

  it('is a place on the outline', () => {
    const chip = { kind: 'chip', angleDeg: -175, sizeUm: 4, depthUm: 1 } as const;
    expect(named(chip, { value: 4, expanded: null, unit: 'um', source: 'report' })).toBe('chip at 185°');
  });

  it('is the value that is shown where the angle is only a direction', () => {
    const bend = { kind: 'bent-cantilever', angleDeg: -7, sizeUm: 0, depthUm: 0 } as const;
    expect(named(bend, { value: 6, expanded: 0.25, unit: 'deg', source: 'report' })).toBe(
      'bent cantilever, (6.00 ± 0.25)°',
    );
    expect(named({ ...bend, kind: 'missing-diamond' }, null)).toBe('missing diamond');
  });
});

describe('the panel of marks', () => {
  it('does not say that nothing was suspected where something was rejected', () => {
    expect(nothingOpenText(0)).toContain('suspects nothing');
    expect(nothingOpenText(1)).toBe(
      'Nothing is open in this view: 1 place was looked at and is rejected, see below.',
    );
    expect(nothingOpenText(3)).toContain('3 places were looked at and are rejected');
  });
});

describe('the form of a mark', () => {
  it('is called by what it changes', () => {
    const proposed = { kind: 'chip', angleDeg: 70, sizeUm: 4, depthUm: 1 } as const;
    expect(formTitle({ proposed: null }, null)).toBe('New mark');
    expect(formTitle({ proposed }, null)).toBe('Change what is suspected');
    expect(formTitle({ proposed }, 'mark00000001')).toBe('Edit mark');
  });
});
