/** Folders that other programs synchronise; such a program may copy a database in the middle of a change. */
const SYNCHRONISED: readonly [pattern: RegExp, what: string][] = [
  [/(^|[\\/])dropbox([\\/]|$)/i, 'Dropbox'],
  [/(^|[\\/])onedrive([ -][^\\/]*)?([\\/]|$)/i, 'OneDrive'],
  [/(^|[\\/])(google ?drive|my drive)([\\/]|$)/i, 'Google Drive'],
  [/(^|[\\/])(icloud ?drive|com~apple~clouddocs|mobile documents)([\\/]|$)/i, 'iCloud Drive'],
  [/(^|[\\/])nextcloud([\\/]|$)/i, 'Nextcloud'],
  [
    /(^|[\\/])(pcloud|mega|syncthing|seafile|tresorit|owncloud)([ -][^\\/]*)?([\\/]|$)/i,
    'a synchronising program',
  ],
];
const NETWORK = /^(\\\\|\/\/)|^\/(net|nfs|smb)\/|[\\/]gvfs[\\/]/i;

export function folderNotices(folder: string): string[] {
  const found = SYNCHRONISED.find(([pattern]) => pattern.test(folder));
  const where = found ? `a folder of ${found[1]}` : NETWORK.test(folder) ? 'a network folder' : null;
  if (where === null) return [];
  return [
    `The collection lies in ${where}. Such folders can damage a database that is in use. Keep the collection in an ` +
      'ordinary folder and copy it there as a backup.',
  ];
}
