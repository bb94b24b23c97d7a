/** Files out of what was dropped, folders opened, and which of them are pictures by their first bytes. */

type Entry = {
  readonly isFile: boolean;
  readonly isDirectory: boolean;
  readonly fullPath: string;
};
type FileEntry = Entry & { file: (done: (file: File) => void, failed: (error: unknown) => void) => void };
type FolderEntry = Entry & {
  createReader: () => {
    readEntries: (done: (entries: Entry[]) => void, failed: (error: unknown) => void) => void;
  };
};

/** A file with the folders it lay in, as far as the browser tells. */
const paths = new WeakMap<File, string>();
export const pathOf = (file: File): string => paths.get(file) ?? (file.webkitRelativePath || file.name);
/** Came with a folder: nobody pointed at this one file. */
const fromFolder = (file: File): boolean => pathOf(file).includes('/');

async function filesIn(entry: Entry): Promise<File[]> {
  if (entry.isFile) {
    const file = await new Promise<File>((done, failed) => {
      (entry as FileEntry).file(done, failed);
    });
    paths.set(file, entry.fullPath.replace(/^\//, ''));
    return [file];
  }
  if (!entry.isDirectory) return [];
  const reader = (entry as FolderEntry).createReader();
  const found: File[] = [];
  // A reader hands out a hundred at a time.
  for (;;) {
    const batch = await new Promise<Entry[]>((done, failed) => {
      reader.readEntries(done, failed);
    });
    if (batch.length === 0) return found;
    for (const one of batch) found.push(...(await filesIn(one)));
  }
}

/** Has to be called while the drop event is being handled; what is dropped is forgotten afterwards. */
export async function filesOfDrop(data: DataTransfer): Promise<File[]> {
  const entries = [...data.items].map((item) => item.webkitGetAsEntry() as Entry | null);
  const plain = [...data.files];
  if (!entries.some((entry) => entry?.isDirectory === true)) return plain;
  const found: File[] = [];
  for (const entry of entries) if (entry !== null) found.push(...(await filesIn(entry)));
  return found;
}

const startsWith = (bytes: Uint8Array, ...head: readonly number[]): boolean =>
  head.every((value, index) => bytes[index] === value);

async function looksLikePicture(file: File): Promise<boolean> {
  const bytes = new Uint8Array(await file.slice(0, 12).arrayBuffer());
  return (
    startsWith(bytes, 0xff, 0xd8, 0xff) ||
    startsWith(bytes, 0x89, 0x50, 0x4e, 0x47) ||
    startsWith(bytes, 0x49, 0x49, 0x2a) ||
    startsWith(bytes, 0x49, 0x49, 0x2b) ||
    startsWith(bytes, 0x4d, 0x4d, 0x00, 0x2a) ||
    startsWith(bytes, 0x4d, 0x4d, 0x00, 0x2b) ||
    (startsWith(bytes, 0x52, 0x49, 0x46, 0x46) && startsWith(bytes.subarray(8), 0x57, 0x45, 0x42, 0x50))
  );
}

export type Sorted = {
  readonly pictures: readonly File[];
  /** Names of files in a folder that are no pictures of a kind that is read. */
  readonly others: readonly string[];
};

/** Of a folder only the pictures are taken; a file that somebody pointed at is always tried, so that it is answered. */
export async function sortFiles(files: readonly File[]): Promise<Sorted> {
  const pictures: File[] = [];
  const others: string[] = [];
  for (const file of files) {
    if (!fromFolder(file)) pictures.push(file);
    else if (await looksLikePicture(file).catch(() => false)) pictures.push(file);
    else others.push(file.name);
  }
  // A folder comes in the order of the disk; people look for names. Files that were pointed at stay as they were given.
  const byName = new Intl.Collator('en', { numeric: true }).compare;
  const sorted = pictures.toSorted((a, b) =>
    fromFolder(a) && fromFolder(b) ? byName(pathOf(a), pathOf(b)) : 0,
  );
  return { pictures: sorted, others };
}
