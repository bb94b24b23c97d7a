import { describe, expect, it } from 'vitest';
import { movedText } from '../../renderer/marks/mark-text.ts';
import type { Mark, MarkShape } from '../../shared/index.ts';

describe('the message of a moved mark', () => {
  const line = (from: number, to: number): MarkShape => ({ type: 'line', from: [from, 0], to: [to, 0] });
  const size = (value: number) => ({ value, expanded: null, unit: 'um' as const, source: 'drawn' as const });
  const mark: Mark = {
    id: 'mark00000001',
    createdAt: '',
    binnedAt: null,
    stylusId: 'stylus0001',
    captureId: 'capture001',
    view: 'front',
    kind: 'chip',
    state: 'confirmed',
    frame: 'tip',
    unit: 'um',
    shape: line(0, 4),
    size: size(4),
    note: '',
    seenBy: '',
    seenOn: '2024-05-01',
    proposed: null,
  };

  it('says what became different, and nothing where nothing did', () => {
    const pulled = { ...mark, shape: line(0, 7), size: size(7) };
    expect(movedText(mark, pulled, false)).toBe('Chip: its size and place were changed.');
    expect(movedText(mark, { ...mark, shape: line(1, 5) }, false)).toBe('Chip: its place was changed.');
    expect(movedText(mark, structuredClone(mark), false)).toBeNull();
  });

  it.each([
    ['chip', 'Chip'],
    ['crack', 'Crack'],
    ['residue', 'Residue'],
  ] as const)('names the background for a %s', (kind, word) => {
    expect(movedText({ ...mark, kind }, { ...mark, kind, shape: line(90, 94) }, true)).toBe(
      `${word}: it lies on the background now, away from the part.`,
    );
  });
});
