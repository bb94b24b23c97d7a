import { z } from 'zod';

/** What is said about a collection as a thing to be kept: its checks, its backups, its bin. */
const pictureTroubleSchema = z.object({
  file: z.string(),
  /** Captures that show it, as the person knows them. */
  usedBy: z.array(z.string()),
});

export const checkReportSchema = z.object({
  /** UTC. */
  at: z.string(),
  ok: z.boolean(),
  database: z.object({ ok: z.boolean(), problems: z.array(z.string()) }),
  originals: z.object({
    fine: z.number().int(),
    damaged: z.array(pictureTroubleSchema),
    missing: z.array(pictureTroubleSchema),
    /** Files in originals/ that no row names. */
    orphaned: z.array(z.string()),
  }),
});
export type CheckReport = z.infer<typeof checkReportSchema>;

export const keepingSettingsSchema = z.object({
  /** Where backups go besides the collection's own folder "backups"; null: there. An absolute path. */
  backupFolder: z.string().trim().min(1).max(4000).nullable(),
  /** Days between automatic backups; null: none are made. */
  backupEveryDays: z.number().int().min(1).max(365).nullable(),
  /** How many automatic ones of each kind are kept. */
  backupsKept: z.number().int().min(1).max(100),
  /** What lies longer in the bin is destroyed at the start of the program; null: nothing is. */
  emptyBinAfterDays: z.number().int().min(1).max(3650).nullable(),
});
export type KeepingSettings = z.infer<typeof keepingSettingsSchema>;

export const backupMadeSchema = z.object({
  path: z.string(),
  byteLength: z.number().int(),
  pictures: z.number().int(),
  /** Hashes of pictures that were damaged or missing and are therefore not in it. */
  missing: z.array(z.string()),
});
export type BackupMade = z.infer<typeof backupMadeSchema>;

export const backupSchema = z.object({
  path: z.string(),
  fileName: z.string(),
  /** A whole collection, or its database alone as it was before the format changed. */
  kind: z.enum(['by-hand', 'weekly', 'before-format', 'other']),
  /** When it was made, UTC; from its name, else from the file. */
  at: z.string(),
  byteLength: z.number().int(),
});
export type Backup = z.infer<typeof backupSchema>;

/** What was in the place of a backup before it was taken back. */
export const asideSchema = z.object({ name: z.string(), path: z.string(), at: z.string() });
export type Aside = z.infer<typeof asideSchema>;

export const keepingStatusSchema = z.object({
  folder: z.string(),
  settings: keepingSettingsSchema,
  /** Newest first. */
  backups: z.array(backupSchema),
  aside: z.array(asideSchema),
  lastCheck: checkReportSchema.nullable(),
});
export type KeepingStatus = z.infer<typeof keepingStatusSchema>;

export const binItemSchema = z.object({
  /** As in bin.takeBack; null: something that only the table's own screen can take back. */
  kind: z.string().nullable(),
  id: z.string(),
  /** The table's name in words, e.g. "scale card". */
  called: z.string(),
  what: z.string(),
  /** The stylus it is on; null for a stylus itself and for what belongs to none. */
  stylusName: z.string().nullable(),
  /** UTC. */
  binnedAt: z.string(),
});
export type BinItem = z.infer<typeof binItemSchema>;

export const binEmptiedSchema = z.object({
  things: z.number().int(),
  pictures: z.number().int(),
  /** Scale cards and passages that something outside the bin still uses; they stay in it. */
  stillUsed: z.number().int(),
});
export type BinEmptied = z.infer<typeof binEmptiedSchema>;

export const troubleSchema = z.object({ code: z.string(), message: z.string() });
export type Trouble = z.infer<typeof troubleSchema>;

export const exportMadeSchema = z.object({
  path: z.string(),
  byteLength: z.number().int(),
  pictures: z.number().int(),
  /** Captures whose picture is damaged or missing and is therefore not in it. */
  left: z.array(z.string()),
});
export type ExportMade = z.infer<typeof exportMadeSchema>;

export const restoredSchema = z.object({
  /** Folder inside the collection in which lies what was there before. */
  aside: z.string(),
  /** Hashes of pictures that the backup says it lacks. */
  missing: z.array(z.string()),
});
export type Restored = z.infer<typeof restoredSchema>;
