import { useState } from 'react';
import { priceText, type Offer } from '../../shared/index.ts';
import { formatDate, today } from '../format.ts';
import { useFresh } from '../listening/use-listening.ts';
import { writeRoute } from '../state/route.ts';
import { useModel } from '../state/use.ts';
import { Crumb, ScreenTitle } from '../ui/bits.tsx';
import { TextField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { startOffer } from './offer-form.ts';

/** Used turntables that were looked at, and the start of a new look. */
export function OffersScreen() {
  const { host, attempt, bin, go } = useModel();
  const [offers, setOffers] = useState<readonly Offer[] | null>(null);
  const [title, setTitle] = useState('');
  const [tried, setTried] = useState(false);
  useFresh(() => attempt(() => host.call('offer.list', {})), setOffers, []);
  const start = async (): Promise<void> => {
    setTried(true);
    if (title.trim() === '') return;
    const made = await attempt(() => host.call('offer.create', startOffer(title, today())));
    if (made !== null) go({ screen: 'offer', offerId: made.id });
  };
  return (
    <div className="screen">
      <Crumb to="#/" name="Shelf" />
      <div className="screen-head">
        <ScreenTitle>Turntables on offer</ScreenTitle>
      </div>
      <p className="hint">
        Ten minutes at the seller’s table: lead and plug, two pictures of the stylus, a walk around the deck,
        what the seller says, what it will cost. It ends in a sheet that both can read.
      </p>
      <form
        className="form panel-form"
        aria-label="New turntable"
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          void start();
        }}
      >
        <TextField
          label="Which turntable"
          hint="Deck and cartridge in your own words"
          value={title}
          maxLength={200}
          error={tried && title.trim() === '' ? 'Give it a name.' : null}
          onChange={setTitle}
        />
        <div className="actions field-wide">
          <button type="submit" className="button button-main">
            <Icon name="plus" />
            Begin
          </button>
        </div>
      </form>
      {offers?.length === 0 && <p className="hint">None looked at yet.</p>}
      <ul className="passages" aria-label="Turntables">
        {offers?.map((one) => (
          <li key={one.id}>
            <span>
              <a href={writeRoute({ screen: 'offer', offerId: one.id })}>{one.title}</a>
              <span className="hint">
                {` ${formatDate(one.day)}${one.price === null ? '' : `, ${priceText(one.price, one.currency)}`}${one.seller === '' ? '' : `, ${one.seller}`}`}
              </span>
            </span>
            <button
              type="button"
              className="button button-quiet button-icon"
              aria-label={`Put into the bin: ${one.title}`}
              onClick={() => void bin('offer', one.id, `“${one.title}”`)}
            >
              <Icon name="bin" />
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}
