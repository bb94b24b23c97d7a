import { Refusal, offerSchema } from '../../../shared/index.ts';
import type { Offer, OfferDraft, OfferPage, StylusDraft } from '../../../shared/index.ts';
import { capturesOf } from './captures.ts';
import { changeAndRead, insertRow, newId, updateRow } from './changes.ts';
import type { Database, Row, SqlValue } from './database.ts';
import { STYLUS_COLUMNS, stylusValues } from './rows.ts';

/** Used turntables on offer. Each brings a stylus of unknown history, on which its pictures hang. */
const json = (value: SqlValue | undefined): unknown => (typeof value === 'string' ? JSON.parse(value) : null);

const offerOf = (row: Row): Offer =>
  offerSchema.parse({
    id: row['id'],
    stylusId: row['stylus_id'],
    title: row['title'],
    day: row['day'],
    seller: row['seller'],
    cartridge: row['cartridge'],
    price: row['price'],
    currency: row['currency'],
    checks: json(row['checks']),
    statements: json(row['statements']),
    costs: json(row['costs']),
    notes: row['notes'],
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });

const COLUMNS = 'title, day, seller, cartridge, price, currency, checks, statements, costs, notes';
const valuesOf = (draft: OfferDraft): SqlValue[] => [
  draft.title,
  draft.day,
  draft.seller,
  draft.cartridge,
  draft.price,
  draft.currency,
  JSON.stringify(draft.checks),
  JSON.stringify(draft.statements),
  JSON.stringify(draft.costs),
  draft.notes,
];

export function readOffer(db: Database, id: string): Offer {
  const row = db.get('SELECT * FROM offer WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That turntable is not in the collection.');
  return offerOf(row);
}

/** Newest first. */
export function listOffers(db: Database): Offer[] {
  return db
    .all('SELECT * FROM offer WHERE binned_at IS NULL ORDER BY day DESC, created_at DESC, id')
    .map(offerOf);
}

export const offerPage = (db: Database, id: string): OfferPage => {
  const offer = readOffer(db, id);
  return { offer, captures: capturesOf(db, offer.stylusId) };
};

const stylusFor = (draft: OfferDraft): StylusDraft => ({
  name: `${draft.title}: the stylus on it`.slice(0, 200),
  cartridge: draft.cartridge,
  profile: '',
  deck: draft.title,
  radiusUm: null,
  sideRadiusUm: null,
  ratedHours: null,
  startDate: null,
  startHours: null,
  price: null,
  currency: draft.currency,
  limitUm: null,
  notes: '',
});

export function createOffer(db: Database, draft: OfferDraft): Offer {
  const [id, stylusId] = [newId(), newId()];
  const change = () => {
    insertRow(db, 'stylus', stylusId, STYLUS_COLUMNS, stylusValues(stylusFor(draft)));
    insertRow(db, 'offer', id, `stylus_id, ${COLUMNS}`, [stylusId, ...valuesOf(draft)]);
  };
  return changeAndRead(db, change, () => readOffer(db, id));
}

export function updateOffer(db: Database, id: string, draft: OfferDraft): Offer {
  readOffer(db, id);
  return changeAndRead(
    db,
    () => updateRow(db, 'offer', id, COLUMNS, valuesOf(draft)),
    () => readOffer(db, id),
  );
}
