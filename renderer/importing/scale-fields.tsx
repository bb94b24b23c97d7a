import type { PictureFacts } from '../../shared/index.ts';
import { CardChoice } from '../scales/card-choice.tsx';
import { sortedFor } from '../scales/verdict.ts';
import { ChoiceField, NumberField } from '../ui/fields.tsx';
import {
  candidateName,
  formatScale,
  POINTING_PX,
  readScale,
  wantsOf,
  type CardContext,
  type ScaleText,
} from './scale.ts';
import { TwoPoints } from './two-points.tsx';

const WAYS = [
  { value: 'none', label: 'Not known yet' },
  { value: 'card', label: 'From a scale card' },
  { value: 'typed', label: 'Typed in, µm per pixel' },
  { value: 'two-points', label: 'Two points of known distance' },
  { value: 'carried-over', label: 'Carried over from an earlier picture' },
] as const;
const DISTANCE_UNITS = [
  { value: 'um', label: 'µm' },
  { value: 'mil', label: 'mil' },
  { value: 'mm', label: 'mm' },
] as const;

type ScaleFieldsProps = {
  /** The scale cards and what is known of this picture; without it no card can be chosen. */
  readonly context: CardContext | null;
  readonly text: ScaleText;
  readonly candidates: readonly PictureFacts[];
  readonly picture: { readonly url: string; readonly widthPx: number; readonly heightPx: number } | null;
  readonly error: string | null;
  readonly onChange: (text: ScaleText) => void;
};

export function ScaleFields(props: ScaleFieldsProps) {
  const { text, candidates, picture, error, onChange, context } = props;
  const set = (change: Partial<ScaleText>): void => onChange({ ...text, ...change });
  const choose = (way: ScaleText['way']): void =>
    set({
      way,
      ...(way === 'card' && text.cardId === '' && context !== null
        ? { cardId: sortedFor(context.cards, wantsOf(text, context.wants))[0]?.id ?? '' }
        : {}),
      ...(way === 'carried-over' && text.carriedId === '' ? { carriedId: candidates[0]?.id ?? '' } : {}),
    });
  return (
    <div className="field-wide scale-fields">
      <div className="form">
        <ChoiceField
          label="Scale"
          hint={text.way === 'none' ? 'Without one, results count in per cent of the shank' : undefined}
          value={text.way}
          choices={WAYS}
          onChange={choose}
        />
        {text.way === 'typed' && <Typed text={text} set={set} error={error} />}
        {text.way === 'card' && context !== null && (
          <CardChoice
            text={text}
            set={set}
            cards={context.cards}
            wants={wantsOf(text, context.wants)}
            error={error}
          />
        )}
        {text.way === 'carried-over' && (
          <Carried text={text} candidates={candidates} set={set} error={error} />
        )}
      </div>
      {text.way === 'two-points' && picture !== null && (
        <>
          <TwoPoints
            picture={picture}
            first={text.first}
            second={text.second}
            onChange={(first, second) => set({ first, second })}
          />
          <Distance text={text} set={set} error={error} />
        </>
      )}
    </div>
  );
}

type PartProps = {
  readonly text: ScaleText;
  readonly set: (change: Partial<ScaleText>) => void;
  /** Shown by the field that it is about. */
  readonly error: string | null;
};

export function Typed({ text, set, error }: PartProps) {
  const { at } = readScale({ ...text, way: 'typed' }, []);
  return (
    <>
      <NumberField
        label="Micrometres per pixel"
        suffix="µm/px"
        value={text.typed}
        error={at === 'typed' ? error : null}
        onChange={(typed) => set({ typed })}
      />
      <NumberField
        label="Plus or minus"
        suffix="µm/px"
        hint="95 %; empty if not known"
        value={text.typedPlusMinus}
        error={at === 'typedPlusMinus' ? error : null}
        onChange={(typedPlusMinus) => set({ typedPlusMinus })}
      />
    </>
  );
}

function Carried({
  text,
  candidates,
  set,
  error,
}: PartProps & { readonly candidates: readonly PictureFacts[] }) {
  if (candidates.length === 0)
    return (
      <>
        <p className="notice">
          No earlier picture with a scale has this frame size and this microscope’s name. A scale belongs to
          one microscope, frame size, zoom and focus.
        </p>
        {error !== null && <p className="field-error">{error}</p>}
      </>
    );
  return (
    <ChoiceField
      label="From"
      hint="Holds only if zoom and focus were not touched"
      value={text.carriedId}
      error={error}
      choices={candidates.map((capture) => ({ value: capture.id, label: candidateName(capture) }))}
      onChange={(carriedId) => set({ carriedId })}
    />
  );
}

export function Distance({ text, set, error }: PartProps) {
  const read = readScale({ ...text, way: 'two-points' }, []);
  const at = error === null ? undefined : read.at;
  return (
    <div className="form">
      {at === 'points' && <p className="field-error field-wide">{error}</p>}
      <NumberField
        label="Their distance"
        value={text.distance}
        error={at === 'distance' ? error : null}
        onChange={(distance) => set({ distance })}
      />
      <ChoiceField
        label="In"
        value={text.distanceUnit}
        choices={DISTANCE_UNITS}
        onChange={(distanceUnit) => set({ distanceUnit })}
      />
      <NumberField
        label="Plus or minus"
        hint="95 %; empty if not known"
        value={text.distancePlusMinus}
        error={at === 'distancePlusMinus' ? error : null}
        onChange={(distancePlusMinus) => set({ distancePlusMinus })}
      />
      <p className="hint field-wide" role="status">
        {read.scale === null
          ? ''
          : `${formatScale(read.scale)}, taking ${POINTING_PX} px as one standard deviation of a click.`}
      </p>
    </div>
  );
}
