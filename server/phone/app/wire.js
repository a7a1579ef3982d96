// What goes over HTTP: frames, one JSON object a line, closed by a trailer that counts them. An answer that is not wholly one of our
// server's counts as no connection, never as a result: captive portals answer too.
import { sha256, toBase64, toURL64 } from './bytes.js'

const frames = 'application/vnd.tacet.frames+json'

// Problem is what the server answered in place of a result; NoConnection is everything that is no answer of it.
export class Problem extends Error {
  constructor(name, doc, status) {
    super(doc.detail || doc.title || name)
    Object.assign(this, { name, doc, status })
  }
}
export class NoConnection extends Error {
  name = 'unreachable'
}

export const keyID = async (key) => toURL64((await sha256(key)).subarray(0, 12))
export const digest = async (bytes) => `sha-256=:${toBase64(await sha256(bytes))}:`

export const writeBatch = ({ entries, seals }) => {
  const lines = [...entries.map(({ e, b, k }) => ({ entry: { e, b, k } })), ...seals.map((seal) => ({ seal }))]
  return [...lines, { end: { frames: lines.length } }].map((f) => `${JSON.stringify(f)}\n`).join('')
}

// readFrames sorts a stream by what its frames hold. Frames of a newer server are counted and skipped.
export const readFrames = (text) => {
  const out = { acts: [], seals: [], devices: [], digests: [], verdicts: [], receipts: [] }
  const at = { act: 'acts', seal: 'seals', device: 'devices', digest: 'digests', verdict: 'verdicts', receipt: 'receipts' }
  let n = 0, end = null
  for (const line of text.split('\n')) {
    if (line.trim() === '') continue
    if (end) throw new NoConnection('something stands behind the trailer')
    let f
    try {
      f = JSON.parse(line)
    } catch {
      throw new NoConnection('not a frame')
    }
    if (f.end) {
      end = f.end
      if (end.frames !== n) throw new NoConnection('frames are missing')
      continue
    }
    n++
    for (const k in f) {
      if (at[k]) out[at[k]].push(f[k])
      else if (k === 'cursor') out.cursor = f.cursor
    }
  }
  if (!end) throw new NoConnection('the answer was cut')
  return { ...out, more: end.more ?? false, narrow: end.narrow ?? false, time: end.time }
}

// ask sends one request and returns its answer, checked to be our server's. keyID is the pinned one, '' before enrolment.
export const ask = async (path, { method = 'GET', json, batch, photo, token, server = '', want = 'application/json', patience = 60000 } = {}) => {
  const headers = { 'Tacet-Protocol': '1' }
  let body
  if (json !== undefined) [headers['Content-Type'], body] = ['application/json', JSON.stringify(json)]
  if (batch !== undefined) [headers['Content-Type'], body] = [frames, batch]
  if (photo) [headers['Content-Type'], headers['Content-Digest'], body] = ['application/octet-stream', await digest(photo), photo]
  if (token) headers.Authorization = `Bearer ${token}`
  let res, text
  try {
    res = await fetch(path, { method, headers, body, credentials: 'omit', cache: 'no-store', redirect: 'error', signal: AbortSignal.timeout(patience) })
    text = await res.text()
  } catch {
    throw new NoConnection('no connection')
  }
  const id = res.headers.get('Tacet-Server')
  if (!id || (server && id !== server)) throw new NoConnection('this is not the server that the phone knows')
  const media = (res.headers.get('Content-Type') ?? '').split(';')[0]
  if (!res.ok) {
    if (media !== 'application/problem+json') throw new NoConnection('an answer that is not one of ours')
    let doc
    try {
      doc = JSON.parse(text)
    } catch {
      throw new NoConnection('the answer was cut')
    }
    throw new Problem((doc.type ?? '').replace('/problems/', ''), doc, res.status)
  }
  if (want && res.status !== 204 && media !== want) throw new NoConnection('an answer that is not one of ours')
  if (media === frames) return { ...readFrames(text), keyID: id }
  if (media !== 'application/json') return { keyID: id }
  try {
    return { ...JSON.parse(text), keyID: id }
  } catch {
    throw new NoConnection('the answer was cut')
  }
}

export const wantFrames = frames

// cursorText is a cursor as the query of a pull carries it.
export const cursorQuery = (c) =>
  c?.epoch ? `${c.epoch}.${c.n}.${c.head}.${c.sig.replaceAll('+', '-').replaceAll('/', '_').replace(/=+$/, '')}` : ''
