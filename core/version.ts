export const ENGINE_VERSION = '0.2.0';
