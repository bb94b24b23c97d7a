import type { ScaleCard } from '../../shared/index.ts';
import { DATE_SOURCE, formatDated, NBSP } from '../format.ts';
import { formatScale, SCALE_SOURCE } from '../importing/scale.ts';
import { useModel } from '../state/use.ts';
import { Crumb, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { useScaleCards, useShown } from './cards.ts';

/** All scale cards: which microscope at which setting has which scale, and from what. */
export function ScalesScreen() {
  const cards = useScaleCards();
  const { open } = useModel();
  return (
    <div className="screen">
      <Crumb to="#/" name="Shelf" />
      <div className="screen-head">
        <ScreenTitle>Scale cards</ScreenTitle>
        <div className="actions">
          <button
            type="button"
            className="button button-main"
            onClick={() => open({ kind: 'scale-card', card: null, captureId: null })}
          >
            <Icon name="plus" />
            New scale card
          </button>
        </div>
      </div>
      <p className="hint">
        A scale belongs to one microscope at one frame size, zoom and focus. A picture takes its scale from
        the card that belongs to it; where one of these differs, the scale is taken away and the reason said.
      </p>
      {cards?.length === 0 && (
        <section className="empty empty-small">
          <p>
            No card yet. Take a picture of a ruled slide with the microscope as it stands, then the stylus,
            without touching zoom or focus in between.
          </p>
        </section>
      )}
      <ul className="scale-cards" aria-label="Scale cards">
        {cards?.map((card) => (
          <CardView key={card.id} card={card} />
        ))}
      </ul>
    </div>
  );
}

const settingText = (card: ScaleCard): string =>
  [
    `${card.frameWidthPx}${NBSP}×${NBSP}${card.frameHeightPx}${NBSP}px`,
    card.zoom === null ? 'zoom not noted' : `zoom ${card.zoom}`,
    card.focus === null ? 'focus not noted' : `focus ${card.focus}`,
  ].join(', ');

export const cardName = (card: ScaleCard): string =>
  `${card.microscope}: ${formatScale(card.scale)} (${settingText(card)})`;

function CardView({ card }: { readonly card: ScaleCard }) {
  const { open, bin } = useModel();
  const taken =
    card.taken === null ? 'date unknown' : `${formatDated(card.taken)}, ${DATE_SOURCE[card.taken.source]}`;
  const uses =
    card.usedBy === 0
      ? 'no picture uses it yet'
      : `used by ${card.usedBy} picture${card.usedBy === 1 ? '' : 's'}`;
  return (
    <li className="scale-card">
      <CardPicture card={card} />
      <div>
        <h2>{card.microscope}</h2>
        <p className="scale-card-value">{formatScale(card.scale)}</p>
        <p className="hint">{settingText(card)}</p>
        <p className="hint">{`${SCALE_SOURCE[card.scale.source]}, ${taken}; ${uses}`}</p>
        {card.slide?.warnings
          .filter((warning) => warning.code !== 'slide-accuracy-assumed')
          .map((warning) => (
            <p className="notice" key={warning.code}>
              {warning.message}
            </p>
          ))}
        {card.notes !== '' && <p>{card.notes}</p>}
        <div className="actions">
          <button
            type="button"
            className="button"
            onClick={() => open({ kind: 'scale-card', card, captureId: null })}
          >
            <Icon name="edit" />
            Open
            <span className="visually-hidden">{`: ${card.microscope}`}</span>
          </button>
          <button
            type="button"
            className="button button-quiet"
            onClick={() => void bin('scale-card', card.id, `The scale card “${card.microscope}”`)}
          >
            <Icon name="bin" />
            Put into the bin
            <span className="visually-hidden">{`: ${card.microscope}`}</span>
          </button>
        </div>
      </div>
    </li>
  );
}

function CardPicture({ card }: { readonly card: ScaleCard }) {
  const shown = useShown(card.picture === null ? null : { cardId: card.id }, 320);
  if (card.picture === null) return <span className="picture picture-none">no picture kept</span>;
  if (shown === 'failed') return <span className="picture picture-none">picture cannot be read</span>;
  if (shown === null) return <span className="picture picture-wait" aria-hidden="true" />;
  return <img className="picture" src={shown.url} alt="" />;
}
