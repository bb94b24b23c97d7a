import { DECK_PARTS, type Offer, type OfferDraft } from '../../shared/index.ts';

/** A new look at a deck: everything still to do, and the one cost that is always to be reckoned with. */
export const startOffer = (title: string, day: string): OfferDraft => ({
  title: title.trim(),
  day,
  seller: '',
  cartridge: '',
  price: null,
  currency: '',
  checks: DECK_PARTS.map((part) => ({ part, answer: 'not-done', note: '' })),
  statements: (['hours', 'stylus-age', 'serviced', 'works'] as const).map((about) => ({
    about,
    said: '',
    finding: '',
    verdict: 'open',
  })),
  costs: [{ what: 'New stylus', amount: null }],
  notes: '',
});

export const draftOf = ({ title, day, seller, cartridge, price, currency, ...rest }: Offer): OfferDraft => ({
  title,
  day,
  seller,
  cartridge,
  price,
  currency,
  checks: rest.checks,
  statements: rest.statements,
  costs: rest.costs,
  notes: rest.notes,
});
