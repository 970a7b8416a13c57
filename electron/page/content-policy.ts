/**
 * The headers under which both doors serve the page. One policy: the desktop
 * sends it with every `app://` response, the browser door with every HTTP
 * response. No inline script, no inline style, no eval, nothing from afar.
 */

/**
 * @param connect where the page may connect besides its own origin: the
 * browser door's WebSocket addresses; nothing on the desktop
 */
export function contentSecurityPolicy(connect: readonly string[]): string {
  return [
    "default-src 'none'",
    "script-src 'self'",
    // Styles set through the CSSOM (React, chart canvases) are not inline styles and need no exception.
    "style-src 'self'",
    "img-src 'self' data: blob:",
    "font-src 'self'",
    ["connect-src 'self'", ...connect].join(' '),
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ].join('; ');
}

/** All that goes with a response of the page, whoever sends it. */
export function pageHeaders(connect: readonly string[]): Record<string, string> {
  return {
    'Content-Security-Policy': contentSecurityPolicy(connect),
    'X-Content-Type-Options': 'nosniff',
    'Referrer-Policy': 'no-referrer',
    'Cross-Origin-Opener-Policy': 'same-origin',
    'Cross-Origin-Resource-Policy': 'same-origin',
    'Permissions-Policy': 'camera=(), microphone=(), geolocation=(), serial=(), usb=(), hid=()',
  };
}
