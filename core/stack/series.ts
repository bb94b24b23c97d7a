import { energyOf, spreadEnergy, type Energy } from './energy.ts';
import type { Plane } from '../live/planes.ts';

/**
 * Which frames of a turned focus wheel are worth keeping: those that are sharper somewhere than all before. Frames come
 * by the dozen and most repeat what is there; a kept one that is beaten everywhere goes again.
 */
export type SeriesPlane = {
  readonly rgba: Uint8Array<ArrayBuffer>;
  readonly energy: Energy;
  /** Order in which they came. */
  readonly number: number;
};
export type Series = {
  /** True when the frame was kept. */
  add(rgba: Uint8Array<ArrayBuffer>, grey: Plane): boolean;
  planes(): readonly SeriesPlane[];
  frames(): number;
};

export type SeriesSpec = { readonly width: number; readonly height: number; readonly most?: number };

/** More planes than this bring no more: depth of field covers the part between two neighbours. */
const MOST = 10;
/** Sharper by this at a place, or it is the same within noise. */
const SHARPER = 1.08;
/** Of the places with something to see, this part has to be sharper. */
const SHARE = 0.02;
/** Places with more than this times the quietest tenth's energy have something to see. */
const SEEN = 2.5;

export function createSeries({ width, height, most = MOST }: SeriesSpec): Series {
  let kept: SeriesPlane[] = [];
  let frames = 0;
  const reach = Math.max(8, Math.round(Math.max(width, height) / 100));

  /** For each place the plane that is sharpest there, and whether there is something to see. */
  function winners(planes: readonly SeriesPlane[]): { wins: number[]; seen: number } {
    const wins = planes.map(() => 0);
    const n = planes[0].energy.data.length;
    const best = new Float32Array(n);
    const who = new Int32Array(n);
    planes.forEach((plane, k) => {
      for (let i = 0; i < n; i++)
        if (plane.energy.data[i] > best[i]) {
          best[i] = plane.energy.data[i];
          who[i] = k;
        }
    });
    const floor = SEEN * quiet(best);
    let seen = 0;
    for (let i = 0; i < n; i++)
      if (best[i] > floor) {
        seen++;
        wins[who[i]]++;
      }
    return { wins, seen };
  }

  return {
    add(rgba, grey) {
      if (rgba.length !== 4 * width * height)
        throw new RangeError(`Series: frames of ${width} x ${height} were expected`);
      frames++;
      const energy = spreadEnergy(energyOf(grey), reach);
      if (kept.length > 0 && !isNew(kept, energy)) return false;
      kept.push({ rgba: rgba.slice(), energy, number: frames });
      const { wins, seen } = winners(kept);
      kept = kept.filter((_, k) => wins[k] >= SHARE * seen || k === kept.length - 1);
      while (kept.length > most) {
        const again = winners(kept).wins;
        kept.splice(again.indexOf(Math.min(...again)), 1);
      }
      return true;
    },
    planes: () => kept,
    frames: () => frames,
  };
}

function isNew(kept: readonly SeriesPlane[], energy: Energy): boolean {
  const n = energy.data.length;
  const best = new Float32Array(n);
  for (const plane of kept)
    for (let i = 0; i < n; i++) if (plane.energy.data[i] > best[i]) best[i] = plane.energy.data[i];
  const floor = SEEN * quiet(best);
  let seen = 0;
  let sharper = 0;
  for (let i = 0; i < n; i++) {
    if (Math.max(best[i], energy.data[i]) <= floor) continue;
    seen++;
    if (energy.data[i] > SHARPER * best[i]) sharper++;
  }
  return seen > 0 && sharper >= SHARE * seen;
}

/** Energy of the quietest tenth: noise and nothing else. */
function quiet(energies: Float32Array): number {
  const sorted = energies.slice().sort();
  return Math.max(1e-9, sorted[Math.floor(sorted.length / 10)]);
}
