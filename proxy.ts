import { NextResponse, type NextRequest } from "next/server";

/**
 * Gives every page its content security policy with a fresh nonce, and sends strangers to sign-in for
 * comfort. It protects nothing: each page and act asks the gate itself.
 *
 * The matcher leaves out what is not a page. Uploads above all: Next would cut their bodies at 10 MB
 * without a word. A phone's share too. Pictures, machine answers, the worker's script and what a
 * phone asks for to install the app carry a policy of their own.
 */
export const config = { matcher: ["/((?!api/|media/|_next/|icon|apple-icon|manifest\\.webmanifest|worker\\.js|family/send/shared$).*)"] };

const SIGNED_IN_ONLY = /^\/(?:family|desk)(?:\/|$)/;
/** Any cookie the sign-in library may have set, with or without its `__Host-` or `__Secure-` prefix. */
const SESSION_COOKIE = /session-token$/;

export function proxy(request: NextRequest): NextResponse {
  const { pathname } = request.nextUrl;
  const policy = pagePolicy(freshNonce(), process.env.NODE_ENV === "development");

  const isStranger = !request.cookies.getAll().some(({ name }) => SESSION_COOKIE.test(name));
  // An act of a page with scripts is answered by itself, in the form: sent elsewhere, it would look like a lost line.
  if (isStranger && SIGNED_IN_ONLY.test(pathname) && !request.headers.has("next-action")) {
    const signIn = new URL("/sign-in", request.url);
    signIn.searchParams.set("then", pathname);
    return withPolicy(NextResponse.redirect(signIn, 303), policy);
  }

  const headers = new Headers(request.headers);
  // Next takes the nonce from the policy on the request, so a sent one must never reach it.
  headers.delete("content-security-policy-report-only");
  headers.delete("x-nonce");
  headers.set("content-security-policy", policy);
  return withPolicy(NextResponse.next({ request: { headers } }), policy);
}

function withPolicy(response: NextResponse, policy: string): NextResponse {
  response.headers.set("content-security-policy", policy);
  response.headers.set("cache-control", "private, no-store");
  return response;
}

function freshNonce(): string {
  return btoa(String.fromCharCode(...crypto.getRandomValues(new Uint8Array(16))));
}

/** No inline style and no eval. The development server alone needs both, and a socket to itself. */
function pagePolicy(nonce: string, isDevelopment: boolean): string {
  return [
    "default-src 'self'",
    `script-src 'self' 'nonce-${nonce}' 'strict-dynamic'${isDevelopment ? " 'unsafe-eval'" : ""}`,
    `style-src 'self'${isDevelopment ? " 'unsafe-inline'" : ""}`,
    "img-src 'self' blob: data:",
    "media-src 'self' blob:",
    `connect-src 'self'${isDevelopment ? " ws:" : ""}`,
    "worker-src 'self'",
    "object-src 'none'",
    "frame-src 'none'",
    "base-uri 'none'",
    "form-action 'self'",
    "frame-ancestors 'none'",
  ].join("; ");
}
