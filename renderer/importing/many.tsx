import { useState } from 'react';
import type { ScaleCard } from '../../shared/index.ts';
import { cardName } from '../scales/scales-screen.tsx';
import { LIGHTS, VIEWS } from './choices.ts';
import { answered, isGuess, type Answers, type IntakeRow } from './intake.ts';
import { NO_SCALE } from './scale.ts';
import type { StylusChoice } from './row.tsx';
import { useLimit } from '../ui/limit.ts';

type ManyProps = {
  readonly rows: readonly IntakeRow[];
  readonly styluses: readonly StylusChoice[];
  readonly cards: readonly ScaleCard[];
  readonly replace: (make: (rows: readonly IntakeRow[]) => readonly IntakeRow[]) => void;
};

/** Answers for many files at once: for the ticked ones, or for all when none is ticked. */
export function ManyBar({ rows, styluses, cards, replace }: ManyProps) {
  const ready = rows.filter((row) => row.offer !== null);
  const chosen = ready.filter((row) => row.chosen);
  const [microscope, setMicroscope] = useState('');
  const { said, limits } = useLimit(microscope, 200);
  if (ready.length < 2) return null;
  const guesses = ready.filter(isGuess).length;
  const meant = (row: IntakeRow): boolean => row.offer !== null && (chosen.length === 0 || row.chosen);
  const give = (change: Partial<Answers>): void =>
    replace((old) =>
      old.map((row) => (meant(row) ? { ...row, answers: answered(row.answers, change) } : row)),
    );
  const all = chosen.length === ready.length;
  return (
    <section className="many-bar" aria-label="Answers for many files">
      <div className="actions">
        <label className="many-all">
          <input
            type="checkbox"
            checked={all}
            onChange={() =>
              replace((old) => old.map((row) => ({ ...row, chosen: row.offer !== null && !all })))
            }
          />
          {chosen.length === 0 ? `All ${ready.length}` : `${chosen.length} of ${ready.length} ticked`}
        </label>
        {guesses > 0 && (
          <button type="button" className="button" onClick={() => give({ guessed: {} })}>
            {chosen.length === 0
              ? guesses === 1
                ? 'The guess is right'
                : `All ${guesses} guesses are right`
              : 'Their guesses are right'}
          </button>
        )}
      </div>
      <div className="actions">
        <Give label="Stylus for them" choices={styluses} onGive={(stylusId) => give({ stylusId })} />
        <Give
          label="View for them"
          choices={VIEWS}
          onGive={(view) => give({ view: view as Answers['view'] })}
        />
        <Give
          label="Light for them"
          choices={LIGHTS}
          onGive={(light) => give({ light: light as Answers['light'] })}
        />
        {cards.length > 0 && (
          <Give
            label="Scale card for them"
            choices={cards.map((card) => ({ value: card.id, label: cardName(card) }))}
            onGive={(cardId) => {
              const card = cards.find((one) => one.id === cardId);
              give({
                scale: { ...NO_SCALE, way: 'card', cardId },
                ...(card === undefined ? {} : { microscope: card.microscope }),
              });
            }}
          />
        )}
        <label className="many-field">
          <span>Microscope for them</span>
          <span className="input-row">
            <input value={microscope} {...limits} onChange={(event) => setMicroscope(event.target.value)} />
            <button
              type="button"
              className="button"
              disabled={microscope.trim() === ''}
              onClick={() => give({ microscope: microscope.trim() })}
            >
              Give
            </button>
          </span>
          {said !== null && (
            <small className="field-error" role="status">
              {said}
            </small>
          )}
        </label>
        {chosen.length > 0 && (
          <button
            type="button"
            className="button"
            onClick={() =>
              replace((old) =>
                old.map((row) =>
                  row.chosen
                    ? {
                        ...row,
                        answers: { ...row.answers, scale: { ...row.answers.scale, untouched: true } },
                      }
                    : row,
                ),
              )
            }
          >
            Microscope not touched in between
          </button>
        )}
      </div>
    </section>
  );
}

/** A choice that is given away at once and then stands empty again. */
function Give(props: {
  readonly label: string;
  readonly choices: readonly StylusChoice[];
  readonly onGive: (value: string) => void;
}) {
  const { label, choices, onGive } = props;
  return (
    <label className="many-field">
      <span>{label}</span>
      <select value="" onChange={(event) => event.target.value !== '' && onGive(event.target.value)}>
        <option value="">as they are</option>
        {choices.map((choice) => (
          <option key={choice.value} value={choice.value}>
            {choice.label}
          </option>
        ))}
      </select>
    </label>
  );
}
