/** What a practice may set for a family, in megabytes. 5000 to begin with: some thousand photos in three sizes. The figures are ours. */
export const FAMILY_MEGABYTES = { least: 100, most: 100_000 } as const;
