import { lengthUnit, type ReportUnit } from '../format.ts';
import { save } from '../save.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { benchStore, type BenchState } from './bench-state.ts';
import type { Scene } from './draw.ts';
import type { Size } from './geometry.ts';
import type { LegendParts } from './legend.tsx';
import type { Profile } from './profile-plot.tsx';
import { profileSvg } from './profile-svg.ts';
import { viewForSaving } from './save-view.ts';
import { scaleBar } from './stage.tsx';

export type TakeAlongProps = {
  readonly scene: Scene;
  readonly counted: ReportUnit;
  readonly size: { readonly current: Size };
  readonly name: string;
  /** For what the stage shows when it is saved. */
  readonly legend: (state: BenchState) => LegendParts;
  readonly profile: Profile | null;
};

export type TakingAlong = {
  readonly picture: () => void;
  readonly csv: (() => void) | null;
  readonly svg: (() => void) | null;
};

/** The present view as a picture with scale bar and legend, the profile as a table and as a drawing. */
export function useTakingAlong({ scene, counted, size, name, legend, profile }: TakeAlongProps): TakingAlong {
  const unit = useDaybook((state) => state.settings.unit);
  const { say } = useModel();
  const has = profile !== null && profile.length > 1;
  return {
    picture: () => {
      const state = benchStore.getState();
      const bar = scaleBar(state.view.zoom, size.current.width, lengthUnit(unit, counted));
      viewForSaving(size.current, state, scene, bar, legend(state)).toBlob((blob) => {
        if (blob === null)
          say('The picture could not be made. Make the window smaller and try again.', 'problem');
        else save(blob, `${name}.png`);
      }, 'image/png');
    },
    csv: has
      ? () => save(new Blob([profileCsv(profile, counted)], { type: 'text/csv' }), `${name} profile.csv`)
      : null,
    svg: has
      ? () =>
          save(
            new Blob([profileSvg(profile, unit, counted, name)], { type: 'image/svg+xml' }),
            `${name} profile.svg`,
          )
      : null,
  };
}

export function TakeAlong({ picture, csv, svg }: TakingAlong) {
  return (
    <div className="actions take-along" role="group" aria-label="Take it along">
      <button type="button" className="button" onClick={picture}>
        Save view as PNG
      </button>
      {csv !== null && (
        <button type="button" className="button" onClick={csv}>
          Save profile as CSV
        </button>
      )}
      {svg !== null && (
        <button type="button" className="button" onClick={svg}>
          Save profile as SVG
        </button>
      )}
    </div>
  );
}

/** Plain numbers with full precision; the heading says the unit. */
export function profileCsv(profile: Profile, counted: ReportUnit): string {
  const unit = counted === 'um' ? 'um' : 'percent of shank';
  const lines = profile.map(([angle, value, expanded]) => `${angle},${value},${expanded}`);
  return [`angle_deg,recession [${unit}],expanded_uncertainty [${unit}]`, ...lines, ''].join('\r\n');
}
