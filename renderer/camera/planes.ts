import { mergePlanes } from '../../core/stack/merge.ts';
import { createSeries, type Series } from '../../core/stack/series.ts';
import { singleFrame, type Frame } from './collecting.ts';
import type { CollectFailure, MergedPicture, SeriesCounts } from './protocol.ts';

/** A series of focal planes in the reading thread: frames in, planes kept, one merged picture out. */
export type PlaneSeries = {
  /** The counts so far, or why the series cannot go on. */
  readonly add: (frame: Frame) => SeriesCounts | CollectFailure;
  readonly merge: (progress: (fraction: number) => void) => MergedPicture | CollectFailure;
};

export function createPlaneSeries(): PlaneSeries {
  let series: Series | null = null;
  let size: { width: number; height: number } | null = null;
  return {
    add(frame) {
      const { width, height } = frame;
      if (size !== null && (size.width !== width || size.height !== height)) return 'size-changed';
      size = { width, height };
      series ??= createSeries({ width, height });
      series.add(frame.rgba, frame.grey);
      return { frames: series.frames(), planes: series.planes().length };
    },
    merge(progress) {
      const planes = series?.planes() ?? [];
      if (size === null || planes.length < 2) return 'one-plane';
      const { width, height } = size;
      const merged = mergePlanes({ width, height, planes: planes.map((plane) => plane.rgba) }, progress);
      return {
        picture: singleFrame({ width, height, rgba: merged.rgba }),
        parts: planes.map((plane) => singleFrame({ width, height, rgba: plane.rgba })),
        alignmentPx: merged.alignmentPx,
        sizeChange: merged.sizeChange,
      };
    },
  };
}
