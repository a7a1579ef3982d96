// Bytes, and the texts that stand for them.

const writer = new TextEncoder()
export const utf8 = (text) => writer.encode(text)

export const concat = (...parts) => {
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0))
  let at = 0
  for (const p of parts) {
    out.set(p, at)
    at += p.length
  }
  return out
}

// base64 as JSON writers of the server put bytes: padded.
export const toBase64 = (bytes) => {
  let s = ''
  for (let i = 0; i < bytes.length; i += 0x8000) s += String.fromCharCode(...bytes.subarray(i, i + 0x8000))
  return btoa(s)
}
export const fromBase64 = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0))

// base64url without padding: how hashes are written.
export const toURL64 = (bytes) => toBase64(bytes).replaceAll('+', '-').replaceAll('/', '_').replace(/=+$/, '')
export const fromURL64 = (text) => fromBase64(text.replaceAll('-', '+').replaceAll('_', '/'))

export const toHex = (bytes) => [...bytes].map((b) => b.toString(16).padStart(2, '0')).join('')

export const sha256 = async (bytes) => new Uint8Array(await crypto.subtle.digest('SHA-256', bytes))

export const random = (n) => crypto.getRandomValues(new Uint8Array(n))

// A hash is 32 bytes; the empty one, before the first entry of a lane, is written as no text.
export const hashText = (bytes) => (bytes.every((b) => b === 0) ? '' : toURL64(bytes))
export const hashBytes = (text) => (text === '' ? new Uint8Array(32) : fromURL64(text))
