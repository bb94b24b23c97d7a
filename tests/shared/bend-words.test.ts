import { describe, expect, it } from 'vitest';
import { bendWords } from '../../shared/index.ts';

/** A cantilever that runs so far to the right and down of its root. */
const running = (dx: number, dy: number): [number, number][] =>
  Array.from({ length: 121 }, (_, i) => [300 + (dx * i) / 120, 200 + (dy * i) / 120]);

describe('which way a cantilever is bent', () => {
  it.each([
    // Right of the way is clockwise on the screen.
    [100, 0, 'right', 'down'],
    [100, 0, 'left', 'up'],
    [-100, 0, 'right', 'up'],
    [0, 100, 'right', 'to the left'],
    [0, -100, 'right', 'to the right'],
    [100, 20, 'right', 'down'],
    [100, 90, 'left', 'up and to the right'],
    [-100, 90, 'left', 'down and to the right'],
  ] as const)('running %i, %i and bent to its %s goes %s on the screen', (dx, dy, toward, screen) => {
    expect(bendWords(toward, running(dx, dy))).toBe(
      `${screen} in the picture as taken, to the ${toward} looking from root to tip`,
    );
  });

  it('is told from the root where no axis is drawn', () => {
    expect(bendWords('left', undefined)).toBe('to the left looking from root to tip');
    expect(bendWords('left', [])).toBe('to the left looking from root to tip');
  });
});
