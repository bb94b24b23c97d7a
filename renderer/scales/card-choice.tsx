import type { ScaleCard } from '../../shared/index.ts';
import { doesNotBelong, type ScaleText } from '../importing/scale.ts';
import { useModel } from '../state/use.ts';
import { ChoiceField, NumberField, TickField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { cardName } from './scales-screen.tsx';
import { sortedFor, verdictFor, type WantsScale } from './verdict.ts';

/** Takes a picture's scale from a card, and says loudly when the card is not this picture's. */
export function CardChoice(props: {
  readonly text: ScaleText;
  readonly set: (change: Partial<ScaleText>) => void;
  readonly cards: readonly ScaleCard[];
  /** With what was typed of its zoom and focus. */
  readonly wants: WantsScale;
  readonly error: string | null;
}) {
  const { text, set, cards, wants, error } = props;
  const { go, open } = useModel();
  if (cards.length === 0)
    return (
      <p className="notice">
        There is no scale card yet.{' '}
        <button
          type="button"
          className="button"
          onClick={() => {
            open(null);
            go({ screen: 'scales' });
          }}
        >
          To the scale cards
        </button>
      </p>
    );
  const card = cards.find((one) => one.id === text.cardId);
  const verdict = card === undefined ? null : verdictFor(card, wants);
  const live = (wants.camera ?? null) !== null;
  return (
    <>
      <ChoiceField
        label="Scale card"
        value={text.cardId}
        choices={[
          ...(card === undefined ? [{ value: '', label: 'choose…' }] : []),
          ...sortedFor(cards, wants).map((one) => ({
            value: one.id,
            label:
              verdictFor(one, wants).verdict === 'differs'
                ? `does not belong here – ${cardName(one)}`
                : cardName(one),
          })),
        ]}
        onChange={(cardId) => set({ cardId, untouched: false })}
      />
      {!live && card !== undefined && card.zoom !== null && (
        <NumberField
          label="Zoom of this picture"
          hint="as on the wheel; empty if not known"
          value={text.cardZoom}
          onChange={(cardZoom) => set({ cardZoom })}
        />
      )}
      {!live && card !== undefined && card.focus !== null && (
        <NumberField
          label="Focus of this picture"
          hint="as on the wheel; empty if not known"
          value={text.cardFocus}
          onChange={(cardFocus) => set({ cardFocus })}
        />
      )}
      {card !== undefined && verdict?.verdict === 'differs' && (
        <p className="scale-alarm field-wide" role="alert">
          <Icon name="warn" />
          <span>{doesNotBelong(card, wants)}</span>
        </p>
      )}
      {verdict?.verdict === 'unknown' && (
        <div className="field-wide">
          <TickField
            label={`Zoom, focus and frame size were not touched between the slide and this picture`}
            checked={text.untouched}
            onChange={(untouched) => set({ untouched })}
          />
          {!text.untouched && (
            <p className={error === null ? 'hint' : 'field-error'} role="status">
              {error ?? verdict.message}
            </p>
          )}
        </div>
      )}
      {verdict?.verdict === 'holds' && <p className="hint field-wide">{verdict.message}</p>}
      {card === undefined && error !== null && <p className="field-error">{error}</p>}
    </>
  );
}
