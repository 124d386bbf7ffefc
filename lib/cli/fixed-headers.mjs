/** Everything a page may not do; the camera is for the family's own photos. */
const permissions = (microphone) =>
  `camera=(self), microphone=${microphone}, accelerometer=(), autoplay=(), browsing-topics=(), display-capture=(), encrypted-media=(), geolocation=(), gyroscope=(), hid=(), magnetometer=(), midi=(), payment=(), serial=(), usb=(), xr-spatial-tracking=()`;

/**
 * The headers every response carries, whatever it is. `next.config.mjs` and `app-server.mjs` put them on what Next answers,
 * `own-answer.mjs` on what the server answers itself.
 *
 * Referrer-Policy is `same-origin` because with `no-referrer` browsers send `Origin: null`, which breaks
 * forms without JavaScript. Source of the set: OWASP ASVS 5.0, V3.4, and the HTTP Headers Cheat Sheet.
 */
export const FIXED_HEADERS = {
  "X-Content-Type-Options": "nosniff",
  "X-Frame-Options": "DENY",
  "Referrer-Policy": "same-origin",
  "Cross-Origin-Opener-Policy": "same-origin",
  "Cross-Origin-Resource-Policy": "same-origin",
  "Permissions-Policy": permissions("()"),
};

/**
 * A spoken note is recorded on the answering desk. A browser holds a page to the policy of its first load
 * while people go on inside it, so what leads there without a new load has it too; the family's side never.
 */
export const MICROPHONE = {
  sources: ["/", "/sign-in/:path*", "/join/:path*", "/desk/:path*"],
  headers: { "Permissions-Policy": permissions("(self)") },
};

/** For a year, subdomains too; only where people come by https, since browsers would refuse plain http afterwards. */
export const HSTS = "max-age=31536000; includeSubDomains";

/** What a response that is not a page may do in a browser: nothing. */
export const NO_PAGE_POLICY = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox";
