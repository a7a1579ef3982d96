// Entries, seals and receipts, to the byte as every other device of the record writes them.
import { concat, fromBase64, hashBytes, hashText, random, sha256, toBase64, toURL64, utf8 } from './bytes.js'
import { canonical } from './canonical.js'

export const hashBlob = async (bytes) => hashText(await sha256(bytes))
export const hashEnvelope = async (text) => hashText(await sha256(utf8(`tacet entry 1\n${text}`)))

// id makes a UUID of version 7.
export const newID = (ms = Date.now(), chance = random(16)) => {
  const b = Uint8Array.from(chance)
  for (let i = 5, t = ms; i >= 0; i--, t = Math.floor(t / 256)) b[i] = t % 256
  b[6] = (b[6] & 0x0f) | 0x70
  b[8] = (b[8] & 0x3f) | 0x80
  const x = [...b].map((v) => v.toString(16).padStart(2, '0')).join('')
  return `${x.slice(0, 8)}-${x.slice(8, 12)}-${x.slice(12, 16)}-${x.slice(16, 20)}-${x.slice(20)}`
}

// bodyText is what was recorded as its one text, with a salt so that a short text can't be guessed from its hash once it is erased.
export const bodyText = (body, salt = random(16)) => canonical({ ...body, salt: toURL64(salt) })

// sealWords enciphers what people said under a key of this one record, which never stands in the chain: whoever throws the key away has
// erased the words wherever the record lies. No key seals twice, so the nonce may be the same always.
export const sealWords = async (plain, key = random(32)) => {
  const box = await crypto.subtle.importKey('raw', key, 'AES-GCM', false, ['encrypt'])
  const text = new Uint8Array(await crypto.subtle.encrypt({ name: 'AES-GCM', iv: new Uint8Array(12) }, box, utf8(canonical(plain))))
  const hash = toURL64(await sha256(concat(utf8('tacet record key 1\n'), key)))
  return { k: toBase64(key), sealed: { fields: Object.keys(plain).sort(), key: hash, text: toURL64(text) } }
}

// newEntry writes an envelope around a body: the two texts, and the hash that everything refers to.
export const newEntry = async (env, body) => {
  const bytes = utf8(body)
  const whole = { ...env, v: 1, was: env.was ?? '', body: await hashBlob(bytes), len: bytes.length }
  for (const list of ['refs', 'blobs']) if (!whole[list]?.length) delete whole[list]
  const e = canonical(whole)
  return { ...whole, h: await hashEnvelope(e), e, b: body }
}

// What is signed. The first line keeps one kind of signature from passing as another.
export const sealText = (s) => `tacet seal 1\n${canonical({ co: s.co, dev: s.dev, job: s.job, seq: s.seq, h: s.h, run: s.run })}`
export const receiptText = (r) =>
  `tacet receipt 1\n${canonical({ co: r.co, epoch: r.epoch, n: r.n, dev: r.dev, job: r.job, seq: r.seq, h: r.h, at: r.at })}`
export const cursorText = (co, c) => `tacet cursor 1\n${canonical({ co, epoch: c.epoch, n: c.n, head: c.head })}`
export const proofText = async (purpose, dev, of, at) =>
  `tacet proof 1\n${canonical({ at, dev, for: purpose, of: await hashBlob(utf8(of)) })}`

export const covers = (r, s) => r.co === s.co && r.dev === s.dev && r.job === s.job && r.seq === s.seq && r.h === s.h

// nextHead is the head of the log's chain after one more act.
export const nextHead = async (head, n, act, h) =>
  hashText(await sha256(concat(utf8('tacet log 1\n'), hashBytes(head), utf8(`${n}\n${act}\n`), hashBytes(h))))

// plus and minus add up hashes modulo 2^256: equal pairs don't cancel.
const big = (h) => hashBytes(h).reduce((v, b) => (v << 8n) | BigInt(b), 0n)
const hash = (v) => {
  const out = new Uint8Array(32)
  for (let i = 31; i >= 0; i--, v >>= 8n) out[i] = Number(v & 255n)
  return hashText(out)
}
export const plus = (sum, h) => hash(BigInt.asUintN(256, big(sum) + big(h)))
export const minus = (sum, h) => hash(BigInt.asUintN(256, big(sum) - big(h)))

// Signatures. The private key never leaves the browser: it can be used and not read.
export const algorithm = { name: 'Ed25519' }
export const sign = async (key, text) => new Uint8Array(await crypto.subtle.sign(algorithm, key, utf8(text)))
export const publicKey = (bytes) => crypto.subtle.importKey('raw', bytes, algorithm, true, ['verify'])
export const verify = async (key, sig, text) => {
  try {
    return await crypto.subtle.verify(algorithm, key, fromBase64(sig), utf8(text))
  } catch {
    return false
  }
}
