export const ENGINE_VERSION = '0.1.0';
