/** Style sheets are taken in for their effect; the build turns them into files. */
declare module '*.css';
