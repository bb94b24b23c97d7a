import { BrowserWindow, session } from 'electron';
import type { PdfPrinter } from '../host/context.ts';
import { SCHEME } from './rules.ts';

/** Prints in a hidden window of its own session, which holds this one document and reaches nothing else. */
export const electronPdfPrinter: PdfPrinter = async (html, paper) => {
  const printing = session.fromPartition(`print-${crypto.randomUUID()}`);
  printing.webRequest.onBeforeRequest((details, answer) =>
    answer({ cancel: !details.url.startsWith(`${SCHEME}://sheet/`) && !details.url.startsWith('data:') }),
  );
  printing.setPermissionRequestHandler((_contents, _permission, answer) => answer(false));
  printing.protocol.handle(
    SCHEME,
    () => new Response(html, { headers: { 'Content-Type': 'text/html; charset=utf-8' } }),
  );
  const window = new BrowserWindow({
    show: false,
    webPreferences: { session: printing, sandbox: true, contextIsolation: true, javascript: false },
  });
  try {
    await window.loadURL(`${SCHEME}://sheet/`);
    const pdf = await window.webContents.printToPDF({
      pageSize: paper,
      preferCSSPageSize: true,
      printBackground: true,
      generateTaggedPDF: true,
    });
    return new Uint8Array(pdf);
  } finally {
    window.destroy();
  }
};
