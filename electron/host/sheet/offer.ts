import {
  DECK_ANSWER_WORDS,
  DECK_PART_WORDS,
  DECK_PARTS,
  findingDoubt,
  mainsDoubt,
  priceText,
  reckoning,
  STATEMENT_WORDS,
  VERDICT_OF_STATEMENT,
} from '../../../shared/index.ts';
import type { Capture, Offer, StylusPage } from '../../../shared/index.ts';
import { ENGINE_VERSION } from '../../../core/version.ts';
import type { Context } from '../context.ts';
import { offerPage } from '../store/offers.ts';
import { stylusPage } from '../store/styluses.ts';
import { sheetDocument } from './document.ts';
import { dayText } from './format.ts';
import { hashTable } from './hashes.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';
import { cantileverBudgets } from './budgets.ts';
import {
  captureFigure,
  examinedFigure,
  marksOn,
  sheetFileName,
  tipNumbers,
  today,
  type Sheet,
} from './make.ts';
import { markTable } from './marks.ts';
import { cantileverNumbers } from './numbers.ts';
import { cautions, notExamined, worth } from './sections.ts';

/** The sheet of a used turntable on offer: no earlier picture, no verdict on wear, and one recommendation. */
export async function makeOfferSheet(context: Context, id: string, paper: 'A4' | 'Letter'): Promise<Sheet> {
  const { db } = context.collection;
  const { offer, captures } = offerPage(db, id);
  const page = stylusPage(db, offer.stylusId);
  const body = html`${identity(offer)}${recommendation(offer)}${deck(offer)}${await stylusPart(context, page, captures)}
  ${markTable(page)}${statements(offer)}${costs(offer)}${notExamined(missing(offer, captures))}${worth()}${cautions()}${hashTable(captures)}`;
  const document = sheetDocument({
    title: offer.title,
    kind: 'Used turntable on offer',
    printed: dayText(today()),
    demo: page.stylus.demo,
    paper,
    body,
    footer: `Made by Stylus Daybook ${context.version}, measuring engine ${ENGINE_VERSION}.`,
  });
  return { html: document, fileName: sheetFileName(offer.title, offer.day) };
}

const money = (amount: number | null, currency: string): string =>
  amount === null ? 'not known' : priceText(amount, currency);

const fact = (name: string, value: string): Markup | null =>
  value === ''
    ? null
    : html`<div>
        <dt>${name}</dt>
        <dd>${value}</dd>
      </div>`;

const identity = (offer: Offer): Markup =>
  html`<dl class="facts">
    ${fact('Looked at on', dayText(offer.day))}${fact('Seller', offer.seller)}
    ${fact('Cartridge', offer.cartridge)}${fact('Price asked', money(offer.price, offer.currency))}
    ${
      offer.notes === ''
        ? null
        : html`<div class="whole">
            <dt>Remarks</dt>
            <dd>${offer.notes}</dd>
          </div>`
    }
  </dl>`;

const recommendation = (offer: Offer): Markup =>
  html`<section class="advice">
    <h2>Recommendation</h2>
    <p>
      <strong>Fit a new stylus before a record is played.</strong> Nobody can know how long this one has
      played (common practice in the trade: used deck, history unknown, fit a new stylus).
    </p>
    ${
      mainsDoubt(offer)
        ? html`<p>
            <strong>Do not plug it in yet.</strong> Lead, plug and voltage have not all been found in order.
            Leave mains work to a qualified person and follow local electrical codes.
          </p>`
        : html`<p>
            Lead, plug and voltage were found in order by looking, which is no electrical test. Unplug the
            deck before it is opened, follow local electrical codes and leave mains work to a qualified
            person.
          </p>`
    }
  </section>`;

const deck = (offer: Offer): Markup =>
  html`<h2>Around the deck</h2>
    <table class="numbers">
      <thead>
        <tr>
          <th scope="col">Part</th>
          <th scope="col">Finding</th>
          <th scope="col">Note</th>
        </tr>
      </thead>
      <tbody>
        ${DECK_PARTS.map((part) => {
          const given = offer.checks.find((one) => one.part === part);
          const early = findingDoubt(offer, part);
          return html`<tr>
            <th scope="row">${DECK_PART_WORDS[part].name}</th>
            <td>${DECK_ANSWER_WORDS[given?.answer ?? 'not-done']}${early === null ? '' : `. ${early}`}</td>
            <td class="wide">${given?.note ?? ''}</td>
          </tr>`;
        })}
      </tbody>
    </table>`;

async function stylusPart(context: Context, page: StylusPage, captures: readonly Capture[]): Promise<Markup> {
  const front = captures.findLast((one) => one.view === 'front');
  const side = captures.findLast((one) => one.view !== 'front' && one.view !== 'end-on');
  if (captures.length === 0)
    return html`<h2>The stylus on it</h2>
      <p><strong>No picture was taken.</strong> Nothing was measured.</p>`;
  const main = front ?? captures.at(-1)!;
  const others = side !== undefined && side !== main ? [side] : [];
  return html`<h2>The stylus on it, without an earlier picture</h2>
    <div class="figures">
      ${await examinedFigure(context, main)}${await Promise.all(
        others.map((one) => captureFigure(context, one, 'Cantilever.')),
      )}
    </div>
    ${tipNumbers(page, main)}
    ${side?.cantilever ? html`${cantileverNumbers(side.cantilever, null, marksOn(page, side))}${cantileverBudgets(side.cantilever)}` : html`<p>The cantilever was not measured.</p>`}
    <p>
      Without an earlier picture of the same stylus nobody can tell how fast it wears, or whether a small flat
      was there from the start.
    </p>`;
}

function statements(offer: Offer): Markup | null {
  const said = offer.statements.filter((one) => one.said.trim() !== '' || one.finding.trim() !== '');
  if (said.length === 0) return null;
  return html`<h2>What the seller says, and what was found</h2>
    <table class="numbers">
      <thead>
        <tr>
          <th scope="col">About</th>
          <th scope="col">Said</th>
          <th scope="col">Found</th>
          <th scope="col">So it is</th>
        </tr>
      </thead>
      <tbody>
        ${said.map(
          (one) =>
            html`<tr>
              <th scope="row">${STATEMENT_WORDS[one.about]}</th>
              <td>${one.said}</td>
              <td>${one.finding}</td>
              <td>${VERDICT_OF_STATEMENT[one.verdict]}</td>
            </tr>`,
        )}
      </tbody>
    </table>`;
}

function costs(offer: Offer): Markup {
  const { known, open } = reckoning(offer);
  return html`<h2>Costs to reckon with</h2>
    <table class="numbers">
      <tbody>
        <tr>
          <th scope="row">Price asked</th>
          <td>${money(offer.price, offer.currency)}</td>
        </tr>
        ${offer.costs.map(
          (one) =>
            html`<tr>
              <th scope="row">${one.what === '' ? 'not named' : one.what}</th>
              <td>${money(one.amount, offer.currency)}</td>
            </tr>`,
        )}
        <tr>
          <th scope="row"><strong>Together${open > 0 ? `, ${open} without a figure` : ''}</strong></th>
          <td><strong>${money(open > offer.costs.length ? null : known, offer.currency)}</strong></td>
        </tr>
      </tbody>
    </table>`;
}

function missing(offer: Offer, captures: readonly Capture[]): string[] {
  const open = DECK_PARTS.filter(
    (part) => (offer.checks.find((one) => one.part === part)?.answer ?? 'not-done') === 'not-done',
  ).map((part) => `the deck: ${DECK_PART_WORDS[part].name.toLowerCase()}`);
  const stylus = [
    captures.some((one) => one.examination?.ok) ? null : 'the tip: no front picture was measured',
    captures.some((one) => one.cantilever?.ok) ? null : 'the cantilever: no side picture was measured',
  ];
  return [...stylus.filter((one) => one !== null), ...open];
}
