import { useRef } from 'react';
import { useStore } from 'zustand';
import { MARK_WORDS, middleOfShape, MARK_KINDS, type Mark } from '../../shared/index.ts';
import { benchStore, changeView } from '../bench/bench-state.ts';
import { formatDate, formatPlain, lengthUnit } from '../format.ts';
import { useDaybook } from '../state/use.ts';
import { ChoiceField, TickField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { useKeptFocus } from '../ui/use-kept-focus.ts';
import { SHAPE_WORDS, SUSPICION_WORDS } from '../words.ts';
import { markSizeText, markTitle, nothingOpenText, sizeText, suspicionName } from './mark-text.ts';
import { dropPoint, LEAST, pickStore, startPick, stopPick, type PickedShape } from './pick.ts';
import { aroundDeg, type Proposal } from './proposals.ts';
import type { ListedMark, Marking } from './use-marking.ts';

const SHAPES: readonly PickedShape[] = ['point', 'line', 'outline', 'angle'];

/** Marks of what is on the stage: what the program proposes, what somebody saw, and making a new one. */
export function MarksPanel({ marking }: { readonly marking: Marking }) {
  const { listed, answered } = marking;
  const live = listed.filter(({ mark }) => mark.state !== 'rejected');
  const rejected = listed.filter(({ mark }) => mark.state === 'rejected');
  const shown = useStore(pickStore, (state) => state.shown);
  const part = useRef<HTMLElement>(null);
  useKeptFocus(part);
  return (
    <section ref={part} className="panel-part marks" aria-labelledby="marks">
      <h2 id="marks" tabIndex={-1}>
        Marks
      </h2>
      {answered.open.length > 0 && (
        <ul className="proposals" aria-label="Suspected by the program">
          {answered.open.map((proposal) => (
            <ProposalRow
              key={`${proposal.suspicion.kind}${proposal.suspicion.angleDeg}`}
              proposal={proposal}
              marking={marking}
            />
          ))}
        </ul>
      )}
      {live.length === 0 && answered.open.length === 0 && (
        <p className="hint">{nothingOpenText(rejected.length)}</p>
      )}
      {live.length > 0 && (
        <ul className="mark-list" aria-label="Marks of this view">
          {live.map((one) => (
            <MarkRow key={one.mark.id} listed={one} marking={marking} />
          ))}
        </ul>
      )}
      <MarkTools marking={marking} />
      {live.length > 0 && (
        <TickField
          label="Show marks over the picture"
          checked={shown}
          onChange={(next) => pickStore.setState({ shown: next })}
        />
      )}
      {rejected.length > 0 && (
        <details>
          <summary>{`Rejected (${rejected.length})`}</summary>
          <ul className="mark-list" aria-label="Rejected marks">
            {rejected.map((one) => (
              <MarkRow key={one.mark.id} listed={one} marking={marking} />
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function MarkTools({ marking }: { readonly marking: Marking }) {
  const pick = useStore(pickStore, (state) => state.pick);
  const kind = useStore(pickStore, (state) => state.kind);
  const setting = pick !== null && pick.purpose === 'mark' ? pick : null;
  const begin = (shape: PickedShape): void => {
    if (setting?.shape === shape) return stopPick();
    const { at } = benchStore.getState().view;
    return startPick('mark', shape, [at.x, at.y]);
  };
  const enough = setting !== null && setting.points.length >= LEAST[setting.shape];
  return (
    <div className="mark-tools" role="group" aria-label="New mark">
      <ChoiceField
        label="Mark a"
        value={kind}
        choices={MARK_KINDS.map((value) => ({ value, label: MARK_WORDS[value] }))}
        onChange={(next) =>
          pickStore.setState((state) => ({
            kind: next,
            pick: state.pick === null ? null : { ...state.pick, kind: next },
          }))
        }
      />
      <div className="actions">
        {SHAPES.map((shape) => (
          <button
            key={shape}
            type="button"
            className="button"
            aria-pressed={setting?.shape === shape}
            onClick={() => begin(shape)}
          >
            {SHAPE_WORDS[shape]}
          </button>
        ))}
        <button type="button" className="button" onClick={marking.typeIn}>
          Type it in
        </button>
      </div>
      {setting !== null && (
        <div className="actions">
          {enough && (
            <button
              type="button"
              className="button button-main"
              onClick={() => marking.onPicked(setting.points)}
            >
              Close the outline
            </button>
          )}
          <button type="button" className="button" disabled={setting.points.length === 0} onClick={dropPoint}>
            Take back a point
          </button>
          <button type="button" className="button" onClick={stopPick}>
            Leave it
          </button>
        </div>
      )}
    </div>
  );
}

function ProposalRow({ proposal, marking }: { readonly proposal: Proposal; readonly marking: Marking }) {
  const unit = useDaybook((state) => state.settings.unit);
  const { suspicion, draft, rejectedBefore } = proposal;
  const name = SUSPICION_WORDS[suspicion.kind];
  const about = suspicionName(proposal, unit);
  return (
    <li>
      <p>
        <strong>{`${name}?`}</strong>
        {` ${suspectedText(proposal, unit)} Look before you believe it.`}
        {rejectedBefore !== null && (
          <span className="hint">{` At this place one was rejected on ${formatDate(rejectedBefore.seenOn)}.`}</span>
        )}
      </p>
      <div className="actions" role="group" aria-label={`Suspected ${about}`}>
        <button
          type="button"
          className="button button-main"
          aria-label={`Confirm: ${about}`}
          onClick={() => void marking.answer(draft, 'confirmed')}
        >
          Confirm
        </button>
        <button
          type="button"
          className="button"
          aria-label={`Keep as suspected: ${about}`}
          onClick={() => void marking.answer(draft, 'suspected')}
        >
          Keep as suspected
        </button>
        <button
          type="button"
          className="button"
          aria-label={`Change: ${about}`}
          onClick={() => marking.change(draft)}
        >
          Change…
        </button>
        <button
          type="button"
          className="button"
          aria-label={`Reject: ${about}`}
          onClick={() => void marking.answer(draft, 'rejected')}
        >
          Reject
        </button>
      </div>
    </li>
  );
}

function suspectedText({ suspicion, draft }: Proposal, unit: 'um' | 'mil'): string {
  const { kind, angleDeg, sizeUm, depthUm } = suspicion;
  if (kind !== 'chip' && kind !== 'residue')
    return draft.size === null ? '' : `${sizeText(draft.size, unit)}.`;
  const shown = lengthUnit(unit, draft.size?.unit === 'percent-of-shank' ? 'percent-of-shank' : 'um');
  const size = (value: number): string =>
    formatPlain(value * shown.factor, shown.factor < 1 ? 3 : 1, shown.symbol);
  return `At ${formatPlain(aroundDeg(angleDeg), 0, '')}°: ${size(sizeUm)} long, ${size(depthUm)} ${kind === 'residue' ? 'high' : 'deep'}.`;
}

/** Where a mark came from and who stands for it. */
function provenance(mark: Mark, again: boolean, placed: boolean): string {
  const who = mark.seenBy === '' ? '' : ` by ${mark.seenBy}`;
  const where = placed
    ? ''
    : ' Has no place in this picture, because it is not registered with the one it was made on.';
  return `Seen on ${formatDate(mark.seenOn)}${who}${mark.proposed === null ? '' : ', suspected by the program'}.${again ? ' The program sees it in this picture, too.' : ''}${where}`;
}

function MarkRow({ listed, marking }: { readonly listed: ListedMark; readonly marking: Marking }) {
  const unit = useDaybook((state) => state.settings.unit);
  const selected = useStore(pickStore, (state) => state.selected);
  const { mark, label, onStage } = listed;
  const title = markTitle(mark);
  const size = markSizeText(mark, unit);
  const name = `mark ${label}, ${MARK_WORDS[mark.kind].toLowerCase()}`;
  const show = (): void => {
    pickStore.setState({ selected: selected === mark.id ? null : mark.id, shown: true });
    if (onStage === null || selected === mark.id) return;
    const [x, y] = middleOfShape(onStage);
    changeView((view) => ({ ...view, at: { x, y } }));
  };
  return (
    <li className={selected === mark.id ? 'mark-row mark-row-selected' : 'mark-row'}>
      <p>
        <strong>{`${label}. ${title}`}</strong>
        {size !== '' && ` ${size}`}
      </p>
      {mark.note !== '' && <p className="mark-note">{mark.note}</p>}
      <p className="hint">{provenance(mark, marking.answered.again.has(mark.id), onStage !== null)}</p>
      <div className="actions" role="group" aria-label={name}>
        <button
          type="button"
          className="button"
          aria-pressed={selected === mark.id}
          aria-label={`Show: ${name}`}
          disabled={onStage === null}
          onClick={show}
        >
          Show
        </button>
        {mark.state !== 'confirmed' && (
          <button
            type="button"
            className="button"
            aria-label={`Confirm: ${name}`}
            onClick={() => void marking.setState(mark, 'confirmed')}
          >
            Confirm
          </button>
        )}
        {mark.state !== 'rejected' && (
          <button
            type="button"
            className="button"
            aria-label={`Reject: ${name}`}
            onClick={() => void marking.setState(mark, 'rejected')}
          >
            Reject
          </button>
        )}
        <button
          type="button"
          className="button button-icon"
          aria-label={`Edit: ${name}`}
          onClick={() => void marking.edit(mark)}
        >
          <Icon name="edit" />
        </button>
        <button
          type="button"
          className="button button-icon"
          aria-label={`Put into the bin: ${name}`}
          onClick={() => void marking.bin(mark)}
        >
          <Icon name="bin" />
        </button>
      </div>
    </li>
  );
}
