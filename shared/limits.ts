/**
 * Numbers of the contract that the measuring thread needs. They stand apart from the schemas, so that it does not load
 * those: checking is the business of whoever asked.
 */

/** One version number for the machine-readable report. Fields may be added, none renamed. */
export const REPORT_VERSION = 1;

/** Largest file that is taken in or read. */
export const MAX_UPLOAD_BYTES = 256 * 1024 * 1024;
