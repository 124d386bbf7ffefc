/** What npm's lockfile (version 3) says of a package. */
export type LockedPackage = {
  readonly version?: string; readonly license?: string; readonly resolved?: string; readonly integrity?: string;
  readonly dev?: boolean; readonly devOptional?: boolean; readonly optional?: boolean; readonly hasInstallScript?: boolean;
};
export type Lockfile = { readonly packages: Readonly<Record<string, LockedPackage>> };

/** Every copy of a package that a practice runs, nested ones too; what only tests and types need is left out. */
export const partsOf = ({ packages }: Lockfile): readonly (readonly [path: string, LockedPackage])[] =>
  Object.entries(packages).filter(([path, { dev, devOptional }]) => path !== "" && !dev && !devOptional).sort(([one], [other]) => (one < other ? -1 : 1));

/** The document. A contract test holds the file to the lockfile, so that each change of a part stands in a commit to be read. */
export function renderParts(lock: Lockfile): string {
  const rows = partsOf(lock).map(([path, { version = "", license = "", optional, hasInstallScript }]) => {
    const notes = [optional ? "only on the systems it is for" : "", hasInstallScript ? "brings an install script" : ""].filter(Boolean).join("; ");
    return `| ${path.replace(/^node_modules\//, "").replaceAll("/node_modules/", " › ")} | ${version} | ${license} | ${notes} |`;
  });
  return `# What the app is made of

Every package a practice runs, with its version and licence as the lockfile has them, nested copies by the package they are nested in. Written by
\`npm run data-map\`; a contract test refuses a lockfile that says otherwise, so whoever takes a new version commits this list with it, and it is
read there: what came in, from whom, why. With hashes, for a machine: \`npm sbom --sbom-format cyclonedx --omit dev\`.

| package | version | licence | |
|---|---|---|---|
${rows.join("\n")}
`;
}
