import { useState } from 'react';
import {
  DECK_ANSWER_WORDS,
  DECK_ANSWERS,
  DECK_PART_WORDS,
  DECK_PARTS,
  findingDoubt,
  mainsDoubt,
  priceText,
  reckoning,
  STATEMENT_WORDS,
  STATEMENTS,
  VERDICT_OF_STATEMENT,
  VERDICTS,
  type OfferDraft,
} from '../../shared/index.ts';
import { editable, parseNumber } from '../format.ts';
import { dayError } from '../ui/day.ts';
import { ChoiceField, LongField, NumberField, TextField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';

type PartProps = {
  readonly draft: OfferDraft;
  readonly change: (part: Partial<OfferDraft>) => void;
};

/** An amount as text; empty is "not known", and what is no number is said and not saved. */
function Money(props: {
  readonly label: string;
  readonly value: number | null;
  readonly currency: string;
  readonly onChange: (value: number | null) => void;
}) {
  const { label, value, currency, onChange } = props;
  const [text, setText] = useState(editable(value));
  const wrong = text.trim() !== '' && (parseNumber(text) ?? -1) < 0;
  return (
    <NumberField
      label={label}
      value={text}
      {...(currency === '' ? {} : { suffix: currency })}
      error={wrong ? 'An amount of 0 or more.' : null}
      onChange={(next) => {
        setText(next);
        const number = parseNumber(next);
        if (next.trim() === '') onChange(null);
        else if (number !== null && number >= 0) onChange(number);
      }}
    />
  );
}

export function Basics({ draft, change }: PartProps) {
  return (
    <div className="form">
      <TextField
        label="Which turntable"
        value={draft.title}
        maxLength={200}
        error={draft.title.trim() === '' ? 'Give it a name.' : null}
        onChange={(title) => change({ title })}
      />
      <TextField
        label="Cartridge on it"
        value={draft.cartridge}
        maxLength={200}
        onChange={(cartridge) => change({ cartridge })}
      />
      <TextField
        label="Looked at on"
        type="date"
        value={draft.day}
        error={dayError(draft.day)}
        onChange={(day) => change({ day })}
      />
      <TextField
        label="Seller"
        hint="As much as belongs on the sheet"
        value={draft.seller}
        maxLength={200}
        onChange={(seller) => change({ seller })}
      />
      <Money
        label="Price asked"
        value={draft.price}
        currency={draft.currency}
        onChange={(price) => change({ price })}
      />
      <TextField
        label="Currency"
        value={draft.currency}
        maxLength={8}
        onChange={(currency) => change({ currency })}
      />
      <LongField label="Remarks" wide rows={2} value={draft.notes} onChange={(notes) => change({ notes })} />
    </div>
  );
}

const ANSWERS = DECK_ANSWERS.map((value) => ({ value, label: DECK_ANSWER_WORDS[value] }));

export function DeckWalk({ draft, change }: PartProps) {
  const doubt = mainsDoubt(draft);
  const set = (part: (typeof DECK_PARTS)[number], next: Partial<OfferDraft['checks'][number]>): void =>
    change({
      checks: DECK_PARTS.map((name) => {
        const old = draft.checks.find((one) => one.part === name) ?? {
          part: name,
          answer: 'not-done' as const,
          note: '',
        };
        return name === part ? { ...old, ...next } : old;
      }),
    });
  return (
    <>
      {doubt && (
        <p className="notice" role="status">
          Not plugged in yet: lead, plug and voltage are not all in order. Leave mains work to a qualified
          person and follow your local electrical codes.
        </p>
      )}
      <ul className="causes">
        {DECK_PARTS.map((part) => {
          const { name, how } = DECK_PART_WORDS[part];
          const given = draft.checks.find((one) => one.part === part);
          const early = findingDoubt(draft, part);
          return (
            <li key={part} className="cause deck-part">
              <div>
                <h3>{name}</h3>
                <p className="hint">{how}</p>
              </div>
              <div className="cause-answer">
                <ChoiceField
                  label={`${name}: finding`}
                  value={given?.answer ?? 'not-done'}
                  choices={ANSWERS}
                  onChange={(answer) => set(part, { answer })}
                />
                <TextField
                  label={`${name}: note`}
                  value={given?.note ?? ''}
                  maxLength={500}
                  onChange={(note) => set(part, { note })}
                />
                {early !== null && (
                  <p className="notice" role="status">
                    {early}
                  </p>
                )}
              </div>
            </li>
          );
        })}
      </ul>
    </>
  );
}

const ABOUT = STATEMENTS.map((value) => ({ value, label: STATEMENT_WORDS[value] }));
const JUDGED = VERDICTS.map((value) => ({ value, label: VERDICT_OF_STATEMENT[value] }));

export function Statements({ draft, change }: PartProps) {
  const { statements } = draft;
  const set = (index: number, part: Partial<OfferDraft['statements'][number]>): void =>
    change({ statements: statements.map((one, i) => (i === index ? { ...one, ...part } : one)) });
  return (
    <>
      <ul className="rows">
        {statements.map((one, index) => (
          <li key={index} className="form offer-row">
            <ChoiceField
              label={`Statement ${index + 1}, about`}
              value={one.about}
              choices={ABOUT}
              onChange={(about) => set(index, { about })}
            />
            <TextField
              label={`Statement ${index + 1}, the seller says`}
              value={one.said}
              maxLength={500}
              onChange={(said) => set(index, { said })}
            />
            <TextField
              label={`Statement ${index + 1}, found`}
              value={one.finding}
              maxLength={500}
              onChange={(finding) => set(index, { finding })}
            />
            <ChoiceField
              label={`Statement ${index + 1}, so it is`}
              value={one.verdict}
              choices={JUDGED}
              onChange={(verdict) => set(index, { verdict })}
            />
            <button
              type="button"
              className="button button-quiet"
              onClick={() => change({ statements: statements.filter((_, i) => i !== index) })}
            >
              {`Leave out statement ${index + 1}`}
            </button>
          </li>
        ))}
      </ul>
      <button
        type="button"
        className="button"
        disabled={statements.length >= 30}
        onClick={() =>
          change({ statements: [...statements, { about: 'other', said: '', finding: '', verdict: 'open' }] })
        }
      >
        <Icon name="plus" />
        Another statement
      </button>
    </>
  );
}

export function Costs({ draft, change }: PartProps) {
  const { costs, currency } = draft;
  const set = (index: number, part: Partial<OfferDraft['costs'][number]>): void =>
    change({ costs: costs.map((one, i) => (i === index ? { ...one, ...part } : one)) });
  const { known, open } = reckoning(draft);
  return (
    <>
      <p className="hint">
        The history of a stylus that comes with a used deck is not known: reckon with a new one.
      </p>
      <ul className="rows">
        {costs.map((one, index) => (
          <li key={`${index}/${costs.length}`} className="form offer-row">
            <TextField
              label={`Cost ${index + 1}, what for`}
              value={one.what}
              maxLength={200}
              onChange={(what) => set(index, { what })}
            />
            <Money
              label={`Cost ${index + 1}, amount`}
              value={one.amount}
              currency={currency}
              onChange={(amount) => set(index, { amount })}
            />
            <button
              type="button"
              className="button button-quiet"
              onClick={() => change({ costs: costs.filter((_, i) => i !== index) })}
            >
              {`Leave out cost ${index + 1}`}
            </button>
          </li>
        ))}
      </ul>
      <button
        type="button"
        className="button"
        disabled={costs.length >= 30}
        onClick={() => change({ costs: [...costs, { what: '', amount: null }] })}
      >
        <Icon name="plus" />
        Another cost
      </button>
      <p className="offer-sum" role="status">
        {`Price and costs so far: ${priceText(known, currency)}${open > 0 ? `, and ${open} without a figure` : ''}`}
      </p>
    </>
  );
}
