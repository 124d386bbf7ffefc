import { FIXED_HEADERS, HSTS, MICROPHONE } from "./lib/cli/fixed-headers.mjs";

// Settled when the app is built and again, on every response, by our server; this is for `npm run dev`.
const isPublic = process.env.PUBLIC_URL?.startsWith("https:");

/** @type {import('next').NextConfig} */
export default {
  poweredByHeader: false,
  // A page's title stands in its head for everybody: sent when it is ready, it would stand now here, now there, and
  // what is not there could be told from what is not yours.
  htmlLimitedBots: /.*/,
  reactStrictMode: true,
  // Types are checked by `npm test`; a practice that starts the app need not wait for them.
  typescript: { ignoreBuildErrors: true },
  // Pictures are private, made in three sizes by us, and shown by a plain <img>: nothing may resize or cache them.
  images: { unoptimized: true, remotePatterns: [], localPatterns: [] },
  // Loaded from node_modules as they are: native code, WebAssembly beside its loader, zone data in JSON, a bucket's client only where one is set.
  // drizzle-orm once for all: the one connection is built by one bundle and asked by another, and two copies of its classes know each other only by the long way.
  serverExternalPackages: ["better-sqlite3", "sharp", "heic-decode", "libheif-js", "moment-timezone", "@aws-sdk/client-s3", "drizzle-orm"],
  experimental: { serverActions: { bodySizeLimit: "1mb", allowedOrigins: [] } },
  headers: async () => [
    {
      source: "/:path*",
      headers: Object.entries({ ...FIXED_HEADERS, ...(isPublic ? { "Strict-Transport-Security": HSTS } : {}) })
        .map(([key, value]) => ({ key, value })),
    },
    // Of two rules for one address the later one counts.
    ...MICROPHONE.sources.map((source) => ({
      source,
      headers: Object.entries(MICROPHONE.headers).map(([key, value]) => ({ key, value })),
    })),
  ],
};
