import { Refusal } from '../../../shared/index.ts';
import type { Habit, HabitDraft } from '../../../shared/index.ts';
import { changeAndRead, insertRow, newId, updateRow } from './changes.ts';
import type { Database } from './database.ts';
import { HABIT_COLUMNS, habitOf, habitValues } from './rows.ts';

/** Weekly habits: so much a week from a day on, until a day or until further notice. */
export function readHabit(db: Database, id: string): Habit {
  const row = db.get('SELECT * FROM habit WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That habit is not in the collection.');
  return habitOf(row);
}

function assertOrder({ startDate, endDate }: HabitDraft): void {
  if (endDate !== null && endDate < startDate)
    throw new Refusal('bad-input', 'A habit cannot end before it begins. Correct one of the two days.');
}

export function addHabit(db: Database, draft: HabitDraft): Habit {
  assertOrder(draft);
  const id = newId();
  return changeAndRead(
    db,
    () => insertRow(db, 'habit', id, HABIT_COLUMNS, habitValues(draft)),
    () => readHabit(db, id),
  );
}

export function updateHabit(db: Database, id: string, draft: HabitDraft): Habit {
  assertOrder(draft);
  readHabit(db, id);
  return changeAndRead(
    db,
    () => updateRow(db, 'habit', id, HABIT_COLUMNS, habitValues(draft)),
    () => readHabit(db, id),
  );
}
