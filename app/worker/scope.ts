/// <reference lib="webworker" />

/** The worker itself. The page's own types stand beside the worker's in one program, so it is named here once. */
export const worker = self as unknown as ServiceWorkerGlobalScope;

declare const BUILD_ID: string;
/** The build this worker came with: written in by the bundler, new with each, so that each build's worker differs. */
export const BUILD = BUILD_ID;

declare const LATER_FILES: readonly string[];
/** The scripts of the pages that go on without a line, those too that they fetch only when they are needed; written in likewise. */
export const LATER = LATER_FILES;
