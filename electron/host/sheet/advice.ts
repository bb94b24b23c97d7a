import {
  ADVICE_WORDS,
  CAUSE_ANSWER_WORDS,
  CAUSE_WORDS,
  type CauseAnswer,
  reasonsOf,
  retiredText,
  type GivenAdvice,
} from '../../../shared/index.ts';
import { dayText } from './format.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';

/** What the evidence comes to on the day of printing, with the rules that speak and what nobody can tell. */
export function adviceBlock(advice: GivenAdvice, retired: boolean): Markup {
  const speaking = reasonsOf(advice);
  return html`<section class="advice">
    <h2>Advice: ${retired ? 'none, it is retired' : ADVICE_WORDS[advice.outcome].toLowerCase()}</h2>
    <p><strong>${retired ? retiredText(advice) : advice.sentence}</strong> ${wallText(advice)}</p>
    ${
      retired || advice.outcome === 'take-off'
        ? null
        : html`<p>
            Next look ${advice.look.overdue ? 'was due' : 'by'} ${dayText(advice.look.date)}.
            ${advice.look.why}
          </p>`
    }
    ${
      speaking.length === 0
        ? null
        : html`<table class="numbers reasons">
            <thead>
              <tr>
                <th scope="col">Because</th>
                <th scope="col">What went in</th>
                <th scope="col">Source</th>
              </tr>
            </thead>
            <tbody>
              ${speaking.map(
                (step) =>
                  html`<tr>
                    <th scope="row">${step.sentence}</th>
                    <td>${step.inputs.map((one) => `${one.name}: ${one.value}`).join('; ')}</td>
                    <td>${step.source}</td>
                  </tr>`,
              )}
            </tbody>
          </table>`
    }
    ${
      advice.unknown.length === 0
        ? null
        : html`<p>
            Nobody can tell from this evidence:
            ${advice.unknown.map((one) => one.replace(/\.$/, '')).join('; ')}.
          </p>`
    }
    <p class="small">
      ${String(advice.steps.length)} rules were asked; each is shown on the screen with what went in. None
      rests on a limit that pretends to be a standard.
    </p>
  </section>`;
}

const wallText = ({ wall, wallInGroove }: GivenAdvice): string => {
  if (wall === null) return '';
  if (wallInGroove === null) return `The ${wall} wall in the picture wears more.`;
  return `The ${wall} wall in the picture wears more: the ${wallInGroove.side} wall of the groove, the ${wallInGroove.channel} channel.`;
};

export function causesTable(causes: readonly CauseAnswer[]): Markup | null {
  if (causes.every((one) => one.answer === 'not-checked')) return null;
  return html`<h2>Other causes, ruled out or not</h2>
    <table class="numbers">
      <tbody>
        ${causes.map(
          (one) =>
            html`<tr>
              <th scope="row">${CAUSE_WORDS[one.cause].name}</th>
              <td>${CAUSE_ANSWER_WORDS[one.answer]}${one.date === null ? '' : `, ${dayText(one.date)}`}</td>
              <td class="wide">${one.note}</td>
            </tr>`,
        )}
      </tbody>
    </table>`;
}
