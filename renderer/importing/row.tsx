import { memo, useCallback, useId, useState } from 'react';
import type { ScaleCard, KnownPictures } from '../../shared/index.ts';
import { TickField, TextField, ChoiceField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { useShown } from '../scales/cards.ts';
import { formatScale, carryCandidates } from './scale.ts';
import { CellChoice, CellDate, type StylusChoice } from './cells.tsx';
import { MIRRORED, SHORT_LIGHTS, SHORT_VIEWS } from './choices.ts';
import { dateHint } from './date-fields.tsx';
import {
  cardContext,
  readRow,
  type Answers,
  type Guessed,
  type IntakeRow,
  type RowErrors,
} from './intake.ts';
import { ScaleFields } from './scale-fields.tsx';
import type { IntakeActions } from './use-intake.ts';

export { DateFields } from './date-fields.tsx';
export { LIGHTS, VIEWS } from './choices.ts';

export type { StylusChoice } from './cells.tsx';

/** Head of the column whose ticks say which rows get the answers for many files. */
export const TOGETHER = 'Answer together';

type RowProps = {
  readonly row: IntakeRow;
  readonly number: number;
  readonly pages: readonly KnownPictures[];
  readonly cards: readonly ScaleCard[];
  readonly styluses: readonly StylusChoice[];
  readonly tried: boolean;
  /** Details open from the start: with a file or two there is room. */
  readonly open: boolean;
  /** The only one to be added: then adding it confirms what was guessed. */
  readonly alone: boolean;
  readonly actions: IntakeActions;
  readonly onSlide: (row: IntakeRow) => void;
};

/** One file of the table. Drawn again only when it changed itself: there may be hundreds. */
export const IntakeRowView = memo(function IntakeRowView(props: RowProps) {
  const { row, number, actions, open } = props;
  const [unfolded, setUnfolded] = useState(open);
  const details = useId();
  const unfold = useCallback(() => setUnfolded(true), []);
  const ready = row.offer !== null;
  return (
    <div
      role="rowgroup"
      className={`intake-row intake-${row.status}${row.answers.take ? '' : ' intake-out'}`}
    >
      <div role="row" className="intake-line">
        <span role="cell" className="intake-tick">
          <small className="cell-label" aria-hidden="true">
            {TOGETHER}
          </small>
          <input
            type="checkbox"
            aria-label={`${TOGETHER}: ${row.file.name}`}
            title="Ticked rows get the answers for many files; this does not decide what is added"
            checked={row.chosen}
            disabled={!ready}
            onChange={(event) => actions.choose(row.key, event.target.checked)}
          />
        </span>
        <span role="cell" className="intake-picture">
          {row.url === '' ? (
            <span className="picture picture-wait" aria-hidden="true" />
          ) : (
            <img className="picture" src={row.url} alt="" />
          )}
        </span>
        <span role="rowheader" className="intake-name">
          <strong>{row.file.name}</strong>
          <small>
            {ready ? `${row.offer.widthPx} × ${row.offer.heightPx} px` : STATUS[row.status]}
            {row.path === row.file.name ? '' : `, in ${row.path.slice(0, -row.file.name.length - 1)}`}
          </small>
        </span>
        {ready ? (
          <Cells {...props} unfolded={unfolded} onUnfold={unfold} />
        ) : (
          <span role="cell" className="intake-rest" />
        )}
        <span role="cell" className="intake-buttons">
          {ready && (
            <button
              type="button"
              className="button button-quiet"
              aria-expanded={unfolded}
              aria-controls={details}
              onClick={() => setUnfolded(!unfolded)}
            >
              {unfolded ? 'Less' : 'More'}
              <span className="visually-hidden">{`: ${row.file.name}`}</span>
            </button>
          )}
          <button
            type="button"
            className="button button-quiet"
            disabled={row.status === 'adding'}
            onClick={() => actions.leaveOut(row.key)}
          >
            <Icon name="close" />
            Leave out
            <span className="visually-hidden">{`: ${row.file.name}`}</span>
          </button>
        </span>
      </div>
      <Remarks {...props} />
      {ready && (
        <div role="row" id={details} hidden={!unfolded}>
          <div role="cell" className="intake-details">
            {unfolded && <Details {...props} number={number} />}
          </div>
        </div>
      )}
    </div>
  );
});

const STATUS: Readonly<Record<IntakeRow['status'], string>> = {
  waiting: 'waiting',
  reading: 'reading…',
  ready: '',
  refused: 'not taken',
  adding: 'adding…',
};

function Remarks({ row, tried, alone, pages, cards, actions, onSlide }: RowProps) {
  const { answers, offer } = row;
  const { errors } = readRow(row, pages, cards);
  const anyway = (why: string) => (
    <div className="notice intake-remark">
      <p>{`${why} ${answers.take ? '' : 'It is left out.'}`}</p>
      <TickField
        label="Add it all the same"
        about={row.file.name}
        checked={answers.take}
        onChange={(take) => actions.answer(row.key, { take })}
      />
    </div>
  );
  return (
    <div role="row" className="intake-remarks">
      <div role="cell">
        {row.problem !== null && <p className="field-error">{row.problem}</p>}
        {offer?.warnings.map((warning) => (
          <p className="notice intake-remark" key={warning}>
            {warning}
          </p>
        ))}
        {offer !== null &&
          offer.duplicateOf !== null &&
          anyway(`The same picture is already in the daybook, with “${offer.duplicateOf.stylusName}”.`)}
        {row.twinOf !== null && anyway(`The same picture as “${row.twinOf}” further up.`)}
        {offer?.guess?.slide === true && (
          <>
            {anyway('This looks like a ruled slide, not like a stylus.')}
            <button type="button" className="button" onClick={() => onSlide(row)}>
              Make a scale card of it
              <span className="visually-hidden">{`: ${row.file.name}`}</span>
            </button>
          </>
        )}
        {answers.take && Object.keys(answers.guessed).length > 0 && (
          <p
            className={
              tried && !alone && errors.guess !== null ? 'field-error guess-line' : 'hint guess-line'
            }
          >
            {`Guessed: ${guessWords(answers.guessed)}${alone ? '; adding the picture says that it is right' : ''}. `}
            {!alone && (
              <button
                type="button"
                className="button"
                onClick={() => actions.answer(row.key, { guessed: {} })}
              >
                That is right
                <span className="visually-hidden">{`: ${row.file.name}`}</span>
              </button>
            )}
          </p>
        )}
      </div>
    </div>
  );
}

const FROM = { 'file-name': 'from the file’s name', picture: 'from a look at the picture' } as const;
function guessWords(guessed: Guessed): string {
  const parts = (['stylus', 'view', 'light'] as const).flatMap((name) => {
    const from = guessed[name];
    return from === undefined ? [] : [`${name} (${FROM[from]})`];
  });
  return parts.length < 2 ? parts.join('') : `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`;
}

type CellsProps = RowProps & { readonly unfolded: boolean; readonly onUnfold: () => void };

/** Its choices are most of a row, and ticking the row changes none of them. */
const Cells = memo(CellsOf, (a: CellsProps, b: CellsProps) => {
  const { row: before, ...rest } = a;
  return (
    before.answers === b.row.answers &&
    before.offer === b.row.offer &&
    (Object.keys(rest) as (keyof typeof rest)[]).every((name) => a[name] === b[name])
  );
});

function CellsOf(props: CellsProps) {
  const { row, pages, cards, styluses, tried, actions, unfolded, onUnfold } = props;
  const { answers, offer } = row;
  const { errors } = readRow(row, pages, cards);
  const set = (change: Partial<Answers>): void => actions.answer(row.key, change);
  const date = answers.date;
  const found = date.found !== null && date.found.wall.slice(0, 10) === date.day && !date.unknown;
  return (
    <>
      <CellChoice
        label="Stylus"
        row={row}
        value={answers.stylusId}
        choices={styluses}
        guess={answers.guessed.stylus}
        error={tried && answers.take ? errors.stylus : null}
        onChange={(stylusId) => set({ stylusId })}
      />
      <CellChoice
        label="View"
        row={row}
        value={answers.view}
        choices={SHORT_VIEWS}
        guess={answers.guessed.view}
        error={tried && answers.take ? errors.view : null}
        onChange={(view) => set({ view: view as Answers['view'] })}
      />
      <CellChoice
        label="Light"
        row={row}
        value={answers.light}
        choices={SHORT_LIGHTS}
        guess={answers.guessed.light}
        error={null}
        onChange={(light) => set({ light: light as Answers['light'] })}
      />
      <span role="cell" className="intake-cell">
        <CellDate
          row={row}
          errors={errors}
          tried={tried && answers.take}
          onChange={(next) => set({ date: next })}
        />
        <small>{date.unknown ? 'said to be unknown' : dateHint(date, found)}</small>
        {(offer?.taken?.offset ?? null) === null && date.day.length > 0 && date.time.length > 0 && (
          <small>{`${date.time}, time zone unknown`}</small>
        )}
      </span>
      <span role="cell" className="intake-cell">
        <small className="cell-label" aria-hidden="true">
          Scale
        </small>
        <span className={errors.scale === null ? '' : 'field-error'}>
          {scaleWords(row, errors, pages, cards, unfolded)}
        </span>
        {answers.scale.way === 'none' && (
          <button type="button" className="button button-link" onClick={onUnfold}>
            Give one
            <span className="visually-hidden">{`: ${row.file.name}`}</span>
          </button>
        )}
      </span>
    </>
  );
}

function scaleWords(
  row: IntakeRow,
  errors: RowErrors,
  pages: readonly KnownPictures[],
  cards: readonly ScaleCard[],
  unfolded: boolean,
): string {
  if (row.answers.scale.way === 'none') return 'none';
  if (errors.scale !== null) return unfolded ? 'not usable, see below' : 'not usable, see More';
  const input = readRow(
    { ...row, answers: { ...row.answers, guessed: {}, view: 'front' } },
    pages,
    cards,
  ).input;
  return input === null ? 'given' : formatScale(input.scale);
}

function Details({ row, pages, cards, tried, actions }: RowProps) {
  const { answers, offer } = row;
  const { errors } = readRow(row, pages, cards);
  const set = (change: Partial<Answers>): void => actions.answer(row.key, change);
  const full = useShown(
    answers.scale.way === 'two-points' && offer !== null ? { token: offer.token } : null,
    8192,
  );
  if (offer === null) return null;
  const candidates = carryCandidates(pages, { ...offer, microscope: answers.microscope });
  return (
    <fieldset className="form" disabled={row.status === 'adding'}>
      <legend className="visually-hidden">{row.file.name}</legend>
      <TextField
        label="Microscope"
        hint="Your name for it; needed for a scale card and to carry a scale over"
        maxLength={200}
        value={answers.microscope}
        onChange={(microscope) => set({ microscope })}
      />
      <ChoiceField
        label="Mirrored by the camera?"
        value={answers.mirrored}
        choices={MIRRORED}
        onChange={(mirrored) => set({ mirrored })}
      />
      <div className="field">
        <TickField
          label="Date unknown"
          about={row.file.name}
          checked={answers.date.unknown}
          onChange={(unknown) => set({ date: { ...answers.date, unknown } })}
        />
        <TickField
          label="This is the baseline of its view"
          about={row.file.name}
          checked={answers.isBaseline}
          onChange={(isBaseline) => set({ isBaseline, baselineSaid: true })}
        />
      </div>
      <ScaleFields
        text={answers.scale}
        candidates={candidates}
        context={cardContext(cards, offer, answers.microscope)}
        picture={
          full === null || full === 'failed'
            ? null
            : { url: full.url, widthPx: offer.widthPx, heightPx: offer.heightPx }
        }
        error={tried ? errors.scale : null}
        onChange={(scale) => set({ scale })}
      />
    </fieldset>
  );
}
