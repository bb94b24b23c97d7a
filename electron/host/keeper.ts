import { Refusal } from '../../shared/index.ts';
import type { Restored, Trouble } from '../../shared/index.ts';
import { keepSalvaged, openCopy } from './keeping/recovery.ts';
import { openHeld } from './store/collection.ts';
import type { Collection } from './store/collection.ts';
import { realDisk } from './store/disk.ts';
import type { Hold } from './store/hold.ts';

/**
 * Holds the folder for as long as the program runs, and in it at most one open collection: the real one, a copy for
 * looking only, or none with the reason why. Everything that exchanges what is open goes through here.
 */
export type Seat = {
  readonly collection: Collection | null;
  readonly trouble: Trouble | null;
  readonly isCopy: boolean;
};

export type Keeper = {
  readonly folder: string;
  seat(): Seat;
  /** The open collection; refuses with the reason when there is none. */
  collection(): Collection;
  /** Closes what is open, does the work, and opens again, also when the work failed. */
  exchange<T>(work: () => Promise<T>): Promise<T>;
  /** Shows what can still be read of a damaged collection, in a copy. */
  lookInside(): Promise<{ rows: number }>;
  keepSalvaged(): Promise<Restored>;
  close(): void;
};

type Hooks = {
  /** Ends everything that uses the present collection. */
  readonly before: () => Promise<void>;
  /** Something else is open now, or nothing. */
  readonly after: (seat: Seat) => void;
};

function troubleOf(error: unknown): Trouble {
  if (error instanceof Refusal) return { code: error.code, message: error.message };
  process.stderr.write(
    `host: open: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
  );
  const code = (error as NodeJS.ErrnoException | null)?.code ?? '';
  const message = error instanceof Error ? error.message : String(error);
  if (code === 'ENOSPC' || /disk is full/i.test(message))
    return {
      code: 'disk-full',
      message:
        'The disk is full, so the collection cannot be opened. Nothing was changed. Make room and try again.',
    };
  if (/^E(ACCES|PERM|ROFS)$/.test(code) || /readonly database|unable to open/i.test(message))
    return {
      code: 'not-readable',
      message:
        'The collection cannot be read or written. Nothing was changed. Check the rights of its folder and whether its disk is there.',
    };
  return {
    code: 'not-opened',
    message: 'The collection cannot be opened, and the program does not know why. Nothing was changed.',
  };
}

const empty = (trouble: Trouble): Seat => ({ collection: null, trouble, isCopy: false });

async function sit(hold: Hold): Promise<Seat> {
  try {
    return { collection: await openHeld(hold), trouble: null, isCopy: false };
  } catch (error) {
    return empty(troubleOf(error));
  }
}

/** Salvaging is for a damaged collection; a sound one that is too new for this program is left alone. */
function assertDamaged({ trouble }: Seat): Trouble {
  if (trouble?.code === 'collection-damaged' || trouble?.code === 'not-opened') return trouble;
  throw new Refusal('not-damaged', 'The collection is not damaged, so there is nothing to save from it.');
}

export async function createKeeper(hold: Hold, hooks: Hooks): Promise<Keeper> {
  let seat = await sit(hold);
  const closeSeat = () => {
    const { collection } = seat;
    seat = empty({ code: 'closing', message: 'The collection is being exchanged. Try again in a moment.' });
    collection?.close();
  };
  async function exchange<T>(work: () => Promise<T>): Promise<T> {
    await hooks.before();
    closeSeat();
    try {
      return await work();
    } finally {
      seat = await sit(hold);
      hooks.after(seat);
    }
  }
  return {
    folder: hold.folder,
    seat: () => seat,
    collection() {
      if (seat.collection !== null) return seat.collection;
      throw new Refusal(
        seat.trouble?.code ?? 'not-opened',
        seat.trouble?.message ?? 'The collection is not open.',
      );
    },
    exchange,
    async lookInside() {
      const trouble = assertDamaged(seat);
      const { salvaged, ...collection } = await openCopy(realDisk, hold.folder);
      seat = { collection, trouble, isCopy: true };
      hooks.after(seat);
      return { rows: salvaged.rows };
    },
    keepSalvaged() {
      assertDamaged(seat);
      return exchange(() => keepSalvaged(realDisk, hold.folder));
    },
    close() {
      closeSeat();
      hold.release();
    },
  };
}
