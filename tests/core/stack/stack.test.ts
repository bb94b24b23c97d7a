import { describe, expect, it } from 'vitest';
import { greyOfRgba, valueAt } from '../../../core/live/planes.ts';
import { readLight } from '../../../core/live/reading.ts';
import { placementOf } from '../../../core/stack/align.ts';
import { mergePlanes } from '../../../core/stack/merge.ts';
import { createSeries } from '../../../core/stack/series.ts';
import { renderPlane, sharpScene, SHARP_PX, SIZE } from './planes.ts';

const { width, height } = SIZE;
const sharp = sharpScene();
const grey = (rgba: Uint8Array) => greyOfRgba(rgba, width, height);
const PLANES = [
  { focus: 0.15, zoom: 0.006, dx: 1.3, dy: -0.8 },
  { focus: 0.4, zoom: 0.002, dx: 0.4, dy: -0.3 },
  { focus: 0.6, zoom: -0.003, dx: -0.6, dy: 0.5 },
  { focus: 0.85, zoom: -0.007, dx: -1.2, dy: 1.1 },
];
const planes = PLANES.map((plane, k) => renderPlane(sharp, plane, 100 + k));

/** Root mean square difference from the scene in focus, near edges only, grey levels of 255. */
function errorOf(rgba: Uint8Array, place: { zoom: number; dx: number; dy: number }): number {
  const seen = grey(rgba);
  const cx = (width - 1) / 2;
  const cy = (height - 1) / 2;
  let sum = 0;
  let n = 0;
  for (let y = 12; y < height - 12; y++)
    for (let x = 12; x < width - 12; x++) {
      const i = y * width + x;
      const edge = Math.hypot(sharp[i + 1] - sharp[i - 1], sharp[i + width] - sharp[i - width]);
      if (edge < 0.05) continue;
      const px = cx + (1 + place.zoom) * (x - cx) + place.dx;
      const py = cy + (1 + place.zoom) * (y - cy) + place.dy;
      sum += (255 * (valueAt(seen, px, py) - sharp[i])) ** 2;
      n++;
    }
  return Math.sqrt(sum / n);
}

describe('focal planes', () => {
  it('are laid over each other in shift and size, though each is sharp elsewhere', () => {
    const moved = placementOf(grey(planes[1]), grey(planes[3]), 1);
    // Placement of plane 3 against plane 1: what remains of both against the scene.
    expect(moved.zoom).toBeCloseTo((1 - 0.007) / (1 + 0.002) - 1, 2.7);
    expect(Math.abs(moved.dx - (-1.2 - 0.4 * (1 + moved.zoom)))).toBeLessThan(0.25);
    expect(Math.abs(moved.dy - (1.1 + 0.3 * (1 + moved.zoom)))).toBeLessThan(0.25);
    const still = placementOf(grey(planes[1]), grey(renderPlane(sharp, PLANES[1], 200)), 1);
    expect(Math.hypot(still.dx, still.dy)).toBeLessThan(0.05);
  });

  it('merge into one picture that is as sharp everywhere as each was at its best', () => {
    const merged = mergePlanes({ width, height, planes });
    const reference = PLANES[merged.reference];
    const after = errorOf(merged.rgba, reference);
    const before = planes.map((plane, k) => errorOf(plane, PLANES[k]));
    const perfect = renderPlane(sharp, { focus: PLANES.map((plane) => plane.focus) }, 150);
    expect(after).toBeLessThan(0.5 * Math.min(...before));
    expect(after).toBeLessThan(1.8 * errorOf(perfect, { zoom: 0, dx: 0, dy: 0 }));
    expect(merged.alignmentPx).toBeLessThan(0.4);
    expect(merged.sizeChange).toBeGreaterThan(0.004);
    expect(merged.sizeChange).toBeLessThan(0.011);
    expect(merged.shares.every((share) => share > 0.03)).toBe(true);
  });

  it('give back both flanks with the edge width of the scene', () => {
    const inFocus = readLight({ width, height, data: sharp });
    const merged = readLight(grey(mergePlanes({ width, height, planes }).rgba));
    const single = readLight(grey(planes[0]));
    if (!inFocus.ok || !merged.ok || !single.ok) throw new Error('not read');
    const expected = inFocus.value.edgePx!;
    expect(Math.abs(expected / (2.5631 * SHARP_PX) - 1)).toBeLessThan(0.12);
    expect(merged.value.edgePx! / expected).toBeLessThan(1.2);
    expect(single.value.edgePx! / expected).toBeGreaterThan(1.4);
    // The pose is not bent by merging.
    const turn = merged.value.flanks.rotation - inFocus.value.flanks.rotation;
    expect(Math.abs((turn * 180) / Math.PI)).toBeLessThan(0.3);
  });

  it('average where there is nothing to see, and leave no halo beside an edge', () => {
    const still = [0, 1, 2].map((k) => renderPlane(sharp, { focus: 0.5 }, 300 + k, 4));
    const merged = mergePlanes({ width, height, planes: still });
    const spread = (rgba: Uint8Array): number => {
      let sum = 0;
      let n = 0;
      for (let y = 10; y < 60; y++)
        for (let x = 10; x < 60; x++) {
          sum += (rgba[4 * (y * width + x)] - rgba[4 * (y * width + x + 3)]) ** 2;
          n++;
        }
      return Math.sqrt(sum / n / 2);
    };
    expect(spread(merged.rgba)).toBeLessThan(0.75 * spread(still[0]));
  });

  it('tell how far they are done, and can be stopped', () => {
    const seen: number[] = [];
    mergePlanes({ width, height, planes }, (fraction) => seen.push(fraction));
    expect(seen).toEqual(seen.toSorted((a, b) => a - b));
    expect(seen.at(-1)).toBeGreaterThan(0.9);
    expect(() =>
      mergePlanes({ width, height, planes }, () => {
        throw new Error('stopped');
      }),
    ).toThrow('stopped');
    expect(() => mergePlanes({ width, height, planes: planes.slice(0, 1) })).toThrow('two planes');
  });
});

describe('a series while the wheel is turned', () => {
  it('keeps what is sharp somewhere, and not what repeats it', () => {
    const series = createSeries({ width, height });
    for (let k = 0; k < 12; k++) {
      const frame = renderPlane(sharp, { focus: k / 11, zoom: 0.006 - 0.001 * k }, 400 + k);
      series.add(frame, grey(frame));
      // The hand rests: the same plane again, with other noise.
      const again = renderPlane(sharp, { focus: k / 11, zoom: 0.006 - 0.001 * k }, 500 + k);
      expect(series.add(again, grey(again))).toBe(false);
    }
    const { length } = series.planes();
    expect(series.frames()).toBe(24);
    expect(length).toBeGreaterThanOrEqual(3);
    expect(length).toBeLessThanOrEqual(10);
    const order = series.planes().map((plane) => plane.number);
    expect(order).toEqual(order.toSorted((a, b) => a - b));
  });

  it('never keeps more than it may', () => {
    const series = createSeries({ width, height, most: 3 });
    for (let k = 0; k < 8; k++) {
      const frame = renderPlane(sharp, { focus: k / 7 }, 600 + k);
      series.add(frame, grey(frame));
    }
    expect(series.planes().length).toBeLessThanOrEqual(3);
  });

  it('drops a blurred start as soon as something sharp has come', () => {
    const series = createSeries({ width, height });
    const blurred = renderPlane(sharp, { focus: 3 }, 700);
    series.add(blurred, grey(blurred));
    const clear = renderPlane(sharp, { focus: 0.5 }, 701);
    expect(series.add(clear, grey(clear))).toBe(true);
    expect(series.planes()).toHaveLength(1);
    expect(series.planes()[0].number).toBe(2);
  });
});
