export type ShippedPackage = {
  readonly name: string;
  readonly version: string;
  readonly licence: string;
  readonly folder: string;
};
export function importedBy(folder: string): Set<string>;
export function withAllBelow(names: Iterable<string>): ShippedPackage[];
export function shippedPackages(): ShippedPackage[];
export function thirdPartyText(): string;
