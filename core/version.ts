export const ENGINE_VERSION = '0.3.21';
