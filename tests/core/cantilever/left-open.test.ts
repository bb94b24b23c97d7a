import { describe, expect, it } from 'vitest';
import { AXIS_PARAMETERS, fitAxis, type FitPoints } from '../../../core/cantilever/axis-fit.ts';
import type { AxisModel } from '../../../core/cantilever/axis-model.ts';
import { placesAlong } from '../../../core/cantilever/rim-evidence.ts';
import { createRandom } from '../../../fixtures/render/random.ts';

describe('what an edge that is put elsewhere does to the axis', () => {
  const frame = { x: 0, y: 0, cos: 1, sin: 0, length: 400 };
  const MODEL: AxisModel = {
    offset: 0,
    first: -0.03,
    bend: 0.09,
    centre: 0.5,
    span: 0.2,
    shape: 0.5,
    rootHalf: 30,
    tipHalf: 24,
    endFactor: 1,
    bulge: 0,
  };
  /** Both edges of a tube with a kink of 0.09 rad half way, the right one lowered by `moved` over the last fifth. */
  function edges(moved: number): FitPoints {
    const r = createRandom(5);
    const list: { x: number; y: number; side: number; section: number }[] = [];
    for (let k = 0; k < 400; k++)
      for (const side of [1, -1]) {
        const noise = 0.03 * r.normal();
        const t = Math.max(0, Math.min(1, (k / 400 - 0.4) / 0.2));
        // heading: a ramp of 0.09 rad between 0.4 and 0.6 of the length, its integral
        const y = -0.03 * k + 0.09 * (400 * 0.2 * (t * t * 0.5) + Math.max(0, k - 240));
        const half = 30 - (6 * k) / 400;
        list.push({
          x: k,
          y: y + side * half + noise + (side === 1 && k >= 320 ? moved : 0),
          side,
          section: k,
        });
      }
    return {
      x: Float64Array.from(list, (p) => p.x),
      y: Float64Array.from(list, (p) => p.y),
      side: Int8Array.from(list, (p) => p.side),
      section: Int32Array.from(list, (p) => p.section),
    };
  }
  const fitted = (moved: number) => {
    const fit = fitAxis(edges(moved), frame, MODEL, 6);
    if (fit === null) throw new Error('no fit');
    return fit;
  };

  it('is what the influence of its points says', () => {
    const moved = 0.02;
    const before = fitted(0);
    const gradient = AXIS_PARAMETERS.map((name) => (name === 'bend' ? 1 : 0));
    const influence = before.influence(gradient);
    const { side, section } = edges(0);
    let told = 0;
    for (let i = 0; i < influence.length; i++)
      if (side[i] === 1 && section[i] >= 320) told += moved * influence[i];
    const seen = fitted(moved).model.bend - before.model.bend;
    expect(Math.abs(told)).toBeGreaterThan(1e-5);
    expect(seen / told).toBeGreaterThan(0.9);
    expect(seen / told).toBeLessThan(1.1);
  });
});

describe('what the light leaves open of an edge', () => {
  const sigma = 2;
  const places = Float64Array.from({ length: 64 }, (_, i) => sigma * (-3 + (4.5 * i) / 63));
  const sure = (at: number): Float64Array => places.map((e) => -0.5 * ((e - at) / 0.1) ** 2);
  const nothing = (): Float64Array => places.map(() => 0);
  const gain = (...list: number[]): Float64Array => Float64Array.from(list);

  it('is nothing where every stretch tells its place', () => {
    const { means, spread } = placesAlong([sure(-1), sure(-1), sure(-1)], places, sigma);
    for (const mean of means) expect(mean).toBeCloseTo(-1, 1);
    expect(spread(gain(1, 1, 1))).toBeLessThan(0.3);
  });

  it('is the same for a whole edge where nothing is told: its slope is known better than its place', () => {
    const { spread } = placesAlong([nothing(), nothing(), nothing(), nothing()], places, sigma);
    const [together, apart] = [spread(gain(1, 1, 1, 1)), spread(gain(-1, -1, 1, 1))];
    // 1.5 blurs, cut off at -3 and 1.5: the places that are sought
    expect(together / 4).toBeGreaterThan(1.5);
    expect(together / 4).toBeLessThan(3);
    expect(apart).toBeGreaterThan(0);
    expect(apart).toBeLessThan(0.2 * together);
  });

  it('grows away from the stretch that tells', () => {
    const rows = [sure(0), ...Array.from({ length: 9 }, nothing)];
    const { spread } = placesAlong(rows, places, sigma);
    const of = (k: number): number => spread(Float64Array.from(rows, (_, i) => (i === k ? 1 : 0)));
    expect(of(0)).toBeLessThan(of(4));
    expect(of(4)).toBeLessThan(of(9));
  });

  it('is what many courses drawn at random come to', () => {
    // two stretches tell two places that no even course joins, the ones between and behind nothing
    const rows = [sure(-0.6), nothing(), sure(0.2), nothing()];
    const { spread } = placesAlong(rows, places, sigma);
    const change = 0.12 * sigma;
    const r = createRandom(3);
    const pick = (weight: Float64Array): number => {
      let left = r.uniform(
        0,
        weight.reduce((a, b) => a + b, 0),
      );
      return Math.max(
        0,
        weight.findIndex((w) => (left -= w) < 0),
      );
    };
    // Of the three rates of change only the fastest one joins them. Drawn forwards and weighed by what the stretches tell.
    const g = [0.3, 1, -0.5, 2];
    let [sum, first, second] = [0, 0, 0];
    for (let n = 0; n < 60_000; n++) {
      let at = pick(sure(-0.6).map((v, i) => Math.exp(v / 1.5 - 0.5 * (places[i] / (1.5 * sigma)) ** 2)));
      let total = g[0] * places[at];
      let weight = 1;
      for (let k = 1; k < rows.length; k++) {
        at = pick(places.map((e) => Math.exp(-0.5 * ((e - places[at]) / change) ** 2)));
        total += g[k] * places[at];
        weight *= Math.exp(Math.max(-12, rows[k][at] / 1.5));
      }
      sum += weight;
      first += weight * total;
      second += weight * total * total;
    }
    const drawn = Math.sqrt(second / sum - (first / sum) ** 2);
    expect(spread(Float64Array.from(g)) / drawn).toBeGreaterThan(0.9);
    expect(spread(Float64Array.from(g)) / drawn).toBeLessThan(1.1);
  });
});
