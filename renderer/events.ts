import { z } from 'zod';
import { hostEvents, type EventName, type EventOf } from '../shared/index.ts';

/**
 * What the host tells of its own accord, checked before anybody acts on it. Loaded with the first event: the schemas and
 * their library are a third of the script that a window would otherwise run before it shows anything.
 */

// Without this the schemas would try to compile themselves, which the content security policy forbids.
z.config({ jitless: true });

/** Null for what is not in the contract. */
export function checkedEvent<E extends EventName>(name: E, event: unknown): EventOf<E> | null {
  const checked = hostEvents[name].safeParse(event);
  return checked.success ? (checked.data as EventOf<E>) : null;
}
