// Who uses the phone: enrolment, sign-in by password or PIN, and tokens. Refresh tokens are good for one use; tabs take turns, so that
// none of them uses one twice.
import { fromBase64, toBase64, toHex, random, utf8 } from './bytes.js'
import { zero } from './clock.js'
import { algorithm, newID, proofText, sign } from './entry.js'
import { read, tell, write } from './store.js'
import { ask, keyID, NoConnection, Problem } from './wire.js'

// device is what the phone is; undefined before it is enrolled.
export const device = () => read(['me'], (db) => db.me.get('device'))

// present is the person who uses the phone now.
export const present = () =>
  read(['me', 'person'], async (db) => {
    const now = await db.me.get('now')
    return now?.person ? db.person.get(now.person) : undefined
  })

export const everybody = () => read(['person'], (db) => db.person.all())

// able tells whether this browser can make a key that it can use and nobody can read.
export const able = async () => {
  if (!globalThis.isSecureContext || !crypto.subtle || !globalThis.indexedDB) return false
  try {
    await crypto.subtle.generateKey(algorithm, false, ['sign', 'verify'])
    return true
  } catch {
    return false
  }
}

const turn = (name, work) => (navigator.locks ? navigator.locks.request(`tacet ${name}`, work) : work())

// proven is a proof for the server's present moment: a wrong clock of the phone does no harm.
const proven = async (key, dev, purpose, of, server) => {
  const hello = await ask('/v1/hello', { server })
  return { at: hello.time, sig: toBase64(await sign(key, await proofText(purpose, dev, of, hello.time))) }
}

const granted = (t) => ({ refresh: t.refresh_token, access: t.access_token, until: performance.timeOrigin + performance.now() + t.expires_in * 1000 })

// enrol makes this browser a device of a company, with a key made here.
export const enrol = (code, label) =>
  turn('account', async () => {
    if (await device()) throw new Error('This phone is enrolled already.')
    const pair = await crypto.subtle.generateKey(algorithm, false, ['sign', 'verify'])
    const pub = new Uint8Array(await crypto.subtle.exportKey('raw', pair.publicKey))
    // Kept before it is used: where the answer gets lost, the same device asks again while the code lives.
    const draft = (await read(['me'], (db) => db.me.get('draft'))) ?? { code, dev: newID(), key: pair.privateKey, pub }
    if (draft.code !== code) Object.assign(draft, { code, dev: newID(), key: pair.privateKey, pub })
    await write(['me'], (db) => db.me.put(draft, 'draft'))
    const proof = await proven(draft.key, draft.dev, 'enrol', code, '')
    const a = await ask('/v1/enrol', { method: 'POST', json: { code, device: draft.dev, public_key: toBase64(draft.pub), name: label, proof } })
    if ((await keyID(fromBase64(a.server_key))) !== a.keyID) throw new NoConnection('the key is not the one that the server names')
    const me = { co: a.company, firm: a.company_name, dev: draft.dev, key: draft.key, pub: draft.pub, serverKey: a.server_key, keyID: a.keyID,
      nextRun: 1, clk: zero, off: 0, cursor: null, state: 'active', answered: true, lastAt: 0 }
    await write(['me', 'person'], async (db) => {
      await db.me.put(me, 'device')
      await db.me.remove('draft')
      await db.me.put({ person: a.person }, 'now')
      await db.person.put({ id: a.person, name: a.person_name, login: a.login, role: a.role, ...granted(a) })
    })
    await navigator.storage?.persist?.()
    tell('account')
  })

// signIn signs somebody in with their password, or their PIN on this phone.
export const signIn = async (login, secret, byPin) => {
  const me = await device()
  const proof = await proven(me.key, me.dev, 'sign-in', login, me.keyID)
  const t = await ask(byPin ? '/v1/sign-in-pin' : '/v1/sign-in',
    { method: 'POST', server: me.keyID, json: { login, [byPin ? 'pin' : 'password']: secret, device: me.dev, proof } })
  const id = JSON.parse(atob(t.access_token.split('.')[1].replaceAll('-', '+').replaceAll('_', '/'))).sub
  const { people } = await ask('/v1/people', { token: t.access_token, server: me.keyID })
  const p = people.find((q) => q.id === id)
  await write(['me', 'person', 'people'], async (db) => {
    const before = (await db.person.get(id)) ?? {}
    await db.person.put({ ...before, id, login, name: p?.name ?? login, role: p?.role ?? 'site', ...granted(t) })
    await db.me.put({ person: id }, 'now')
    for (const q of people) await db.people.put(q)
  })
  tell('account')
}

// signOut hides everything of the person from the next one. What is not sent stays, and is sent when anybody here signs in.
export const signOut = async () => {
  await write(['me', 'person'], async (db) => {
    const now = await db.me.get('now')
    const p = now?.person && (await db.person.get(now.person))
    if (p) await db.person.put({ ...p, refresh: '', access: '', until: 0 })
    await db.me.put({ person: '' }, 'now')
  })
  tell('account')
}

const clockNow = () => performance.timeOrigin + performance.now()

// token gives an access token of the person who uses the phone. It throws Problem "sign-in-needed" where a person must sign in.
export const token = (force) =>
  turn('token', async () => {
    const [me, p] = [await device(), await present()]
    if (!me || !p?.refresh) throw new Problem('sign-in-needed', { title: 'sign in' }, 401)
    if (!force && p.access && p.until - clockNow() > 30000 && p.until - clockNow() < 3600000) return p.access
    const proof = await proven(me.key, me.dev, 'refresh', p.refresh, me.keyID)
    const t = await ask('/v1/refresh', { method: 'POST', server: me.keyID, json: { refresh_token: p.refresh, device: me.dev, proof } })
    await write(['person'], async (db) => {
      const now = await db.person.get(p.id)
      if (now?.refresh === p.refresh) await db.person.put({ ...now, ...granted(t) }) // else the person has signed out meanwhile
    })
    return t.access_token
  })

// withToken asks with a token, and once more with a fresh one where the server no longer takes it.
export const withToken = async (path, options = {}) => {
  const me = await device()
  try {
    return await ask(path, { ...options, server: me.keyID, token: await token() })
  } catch (err) {
    if (!(err instanceof Problem) || err.name !== 'sign-in-needed') throw err
    return ask(path, { ...options, server: me.keyID, token: await token(true) })
  }
}

// A PIN is set at the server, which counts wrong tries, and kept here as a slow hash, so that people can change over without a signal.
const rounds = 310000
export const tries = 10

const slow = async (pin, salt) => {
  const key = await crypto.subtle.importKey('raw', utf8(pin), 'PBKDF2', false, ['deriveBits'])
  return toHex(new Uint8Array(await crypto.subtle.deriveBits({ name: 'PBKDF2', hash: 'SHA-256', salt, iterations: rounds }, key, 256)))
}

export const setPin = async (pin) => {
  await withToken('/v1/pin', { method: 'PUT', json: { pin }, want: '' })
  const salt = random(16), p = await present()
  const hash = await slow(pin, salt)
  await write(['person'], async (db) => db.person.put({ ...(await db.person.get(p.id)), pin: { salt, hash, wrong: 0 } }))
}

// changeOver lets a person in by PIN: with a signal at the server, without one by what is kept here.
export const changeOver = async (id, pin) => {
  const p = await read(['person'], (db) => db.person.get(id))
  if (!p?.pin) throw new Error('No PIN is set on this phone. Sign in with the password.')
  if (p.pin.wrong >= tries) throw new Error('Too many wrong PINs. Sign in with the password.')
  await write(['person'], (db) => db.person.put({ ...p, pin: { ...p.pin, wrong: p.pin.wrong + 1 } })) // counted before it is tried
  if ((await slow(pin, p.pin.salt)) !== p.pin.hash) throw new Error('That PIN is wrong. The password always works.')
  await write(['person', 'me'], async (db) => {
    await db.person.put({ ...(await db.person.get(id)), pin: { ...p.pin, wrong: 0 } })
    await db.me.put({ person: id }, 'now')
  })
  tell('account')
  try {
    await signIn(p.login, pin, true)
  } catch (err) {
    if (!(err instanceof NoConnection) && !(err instanceof Problem)) throw err
  }
}
