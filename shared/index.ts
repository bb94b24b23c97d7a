export * from './units.ts';
export * from './geometry.ts';
export * from './outcome.ts';
export * from './report.ts';
export * from './collection.ts';
export * from './marks.ts';
export * from './host-api.ts';
export * from './wire.ts';
