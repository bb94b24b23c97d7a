import { describe, expect, it } from 'vitest';
import { WAYS } from '../../renderer/bench/bench-state.ts';
import { linesIn } from '../../renderer/bench/draw.ts';
import { legendOf } from '../../renderer/bench/legend.tsx';
import type { Capture } from '../../shared/index.ts';
import { captureRow } from './fake-host.ts';

const pair = (light: Capture['light'], registered = true) => ({
  baseline: captureRow('stylus', { light }),
  later: captureRow('stylus', { light }),
  registered,
});

describe('the legend of the bench', () => {
  it.each(WAYS)('gives no colour two meanings: %s', (way) => {
    for (const light of ['backlit', 'ring'] as const) {
      const { keys } = legendOf({ way, gain: 8 }, pair(light));
      const fills = keys.filter(({ look }) => look === 'fill').map(({ colour }) => colour);
      const lines = keys.filter(({ look }) => look !== 'fill');
      // Blended pictures are blue and orange all over, whether or not each has a key of its own.
      const hues = way === 'over' || way === 'difference' ? lines.map(({ colour }) => colour) : [];
      expect(hues.every((colour) => colour === '#ffffff')).toBe(true);
      expect(lines.map(({ colour }) => colour)).toEqual([linesIn(way).baseline, linesIn(way).later]);
      expect(new Set(fills).size).toBe(fills.length);
      // Without colour the two outlines stay apart by their strokes.
      expect(lines.map(({ look }) => look)).toEqual(['solid', 'dashed']);
    }
  });

  it('names what has gone and what was added only where silhouettes lie over each other', () => {
    const said = (light: Capture['light'], registered: boolean): string =>
      legendOf({ way: 'over', gain: 8 }, pair(light, registered))
        .keys.map(({ text }) => text)
        .join('; ');
    expect(said('backlit', true)).toMatch(
      /orange: part of the baseline that has gone; blue: something added/,
    );
    expect(said('backlit', false)).toMatch(/orange: only the later picture is bright/);
    expect(said('ring', true)).not.toMatch(/gone|added/);
  });
});
