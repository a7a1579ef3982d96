// One exchange with the server: entries first, in this phone's order, then what stands there, then photos. Nothing of it deletes a record.
import { device, token, withToken } from './account.js'
import { corrected, merge } from './clock.js'
import { covers, cursorText, hashEnvelope, hashBlob, minus, nextHead, plus, publicKey, receiptText, sealText, sign, verify } from './entry.js'
import { fromBase64, toBase64, utf8 } from './bytes.js'
import { arrived, cutUnseen, expect, failed, known, spend } from './line.js'
import { read, tell, write } from './store.js'
import { ask, cursorQuery, NoConnection, Problem, wantFrames, writeBatch } from './wire.js'

const maxEntries = 500, maxLanes = 64
const after = { stand: 'standing', admit: 'standing', hold: 'held', withdraw: 'held', refuse: 'refused' }

// LogChanged is a log that does not go on from what was read: the server was restored from a backup.
class LogChanged extends Error {}

export const progress = { running: false, done: 0, of: 0, stop: false }

const unsent = () => read(['entry'], async (db) => (await db.entry.by('state').all('unsent')).sort((a, b) => a.run - b.run))

// exchange runs one, unless another tab is at it. It returns what stopped it: '' for nothing.
export const exchange = () => {
  const work = async (lock) => {
    if (!lock) return 'elsewhere'
    const outcome = await attempt()
    await write(['me'], async (db) => {
      const me = await db.me.get('device')
      if (me) await db.me.put({ ...me, outcome: outcome.name, outcomeSays: outcome.says, between: known(), lastTry: Date.now(), lastAt: outcome.name === '' ? Date.now() : me.lastAt }, 'device')
    })
    tell('exchanged')
    return outcome.name
  }
  return navigator.locks ? navigator.locks.request('tacet exchange', { ifAvailable: true }, work) : work(true)
}

const attempt = async () => {
  const me = await device()
  if (!me || me.state === 'revoked') return { name: me ? 'device-revoked' : 'not-enrolled', says: '' }
  expect(me.between)
  Object.assign(progress, { running: true, done: 0, of: (await unsent()).length, stop: false })
  tell('sending')
  try {
    await token()
    await entries(false)
    await people()
    await photos()
    return { name: '', says: '' }
  } catch (err) {
    if (err instanceof Problem && err.name === 'device-revoked') await cutOff()
    else if (!(err instanceof Problem) && !(err instanceof NoConnection)) console.error(err)
    return { name: err instanceof Problem || err instanceof NoConnection ? err.name : 'trouble', says: err.message }
  } finally {
    progress.running = false
  }
}

const entries = async (again) => {
  try {
    await push()
    await pull()
    await searchSent()
  } catch (err) {
    const changed = err instanceof LogChanged || (err instanceof Problem && err.name === 'epoch-changed')
    if (!changed || again) throw err
    await startOver()
    await entries(true)
  }
}

const setAnswered = (answered) => write(['me'], async (db) => db.me.put({ ...(await db.me.get('device')), answered }, 'device'))

const push = async () => {
  for (let tries = 0; ; ) {
    if (progress.stop) throw new NoConnection('stopped')
    if (!(await device()).answered) await askLanes()
    const list = await unsent()
    if (list.length === 0) return
    const batch = fitting(list)
    try {
      await pushBatch(batch)
      progress.done += batch.length
      tell('sending')
      tries = 0
      arrived('push', sizeOf(batch))
    } catch (err) {
      failed('push', err instanceof NoConnection)
      if (err instanceof Problem && err.name === 'too-large' && batch.length > 1) continue
      if (err instanceof Problem && err.name === 'expected-run' && tries++ < 2) continue
      throw err
    }
  }
}

const sizeOf = (list) => list.reduce((n, e) => n + (e.e?.length ?? 0) + (e.b?.length ?? 0), 0)

const fitting = (list) => {
  const out = [], lanes = new Set(), room = spend('push')
  let size = 0
  for (const e of list) {
    size += e.e.length + e.b.length
    lanes.add(e.job)
    if (out.length > 0 && (out.length >= maxEntries || size > room || lanes.size > maxLanes)) break
    out.push(e)
  }
  return out
}

// sealed closes the lanes that a batch touches with this phone's signature.
export const sealed = async (list) => {
  const me = await device(), ends = new Map()
  for (const e of list) ends.set(e.job, e)
  const seals = []
  for (const e of ends.values()) {
    const s = { co: e.co, dev: e.dev, job: e.job, seq: e.seq, h: e.h, run: e.run }
    seals.push({ ...s, sig: toBase64(await sign(me.key, sealText(s))) })
  }
  return seals
}

const pushBatch = async (list) => {
  const me = await device(), seals = await sealed(list)
  await setAnswered(false) // until the answer is here, nobody knows what arrived
  const a = await withToken('/v1/push', { method: 'POST', batch: writeBatch({ entries: list, seals }), want: wantFrames })
  await confirm(seals, a.receipts, me, a.time)
  await setAnswered(true)
}

// confirm marks as sent what the server's receipts cover. A receipt of another lane or place proves nothing.
const confirm = async (seals, receipts, me, time) => {
  const key = await publicKey(fromBase64(me.serverKey)), ends = []
  for (const s of seals) {
    let good = false
    for (const r of receipts) good ||= covers(r, s) && (await verify(key, r.sig, receiptText(r)))
    if (!good) throw new NoConnection('a receipt is missing or not by the server')
    ends.push(s)
  }
  await write(['entry', 'me'], async (db) => {
    for (const s of ends)
      for (const e of await db.entry.by('job').all(s.job)) if (e.state === 'unsent' && e.seq <= s.seq) await db.entry.put({ ...e, state: 'sent' })
    await noteTime(db, time)
  })
}

// noteTime keeps how far the phone's clock is from the server's.
const noteTime = async (db, time) => {
  if (!(time > 0)) return
  const me = await db.me.get('device'), now = Date.now(), off = Math.round(now - time)
  await db.me.put({ ...me, off, clk: corrected(me.clk, now, off) }, 'device')
}

// askLanes compares what the server has of this phone with what is here. What arrived is not sent again; what it lost is.
const askLanes = async () => {
  const me = await device()
  const l = await withToken('/v1/lanes')
  const heads = [], seals = []
  await read(['entry'], async (db) => {
    for (const head of l.lanes ?? []) {
      const e = await db.entry.by('place').get([head.job, head.seq])
      if (!e || e.h !== head.h) throw new Problem('lane-forked', { title: 'the server has records of this phone that are not here' }, 409)
      if (!head.receipt) continue
      const at = await db.entry.by('place').get([head.job, head.receipt.seq])
      heads.push({ s: { co: me.co, dev: me.dev, job: head.job, seq: at.seq, h: at.h, run: at.run }, receipt: head.receipt })
    }
  })
  for (const { s, receipt } of heads) seals.push([s, receipt])
  await confirm(seals.map(([s]) => s), seals.map(([, r]) => r), me, l.time)
  await write(['entry', 'photo', 'me'], async (db) => {
    for (const e of await db.entry.all(IDBKeyRange.lowerBound(l.next_run))) {
      if (e.state === 'unsent') continue
      if (e.state === 'standing' || e.state === 'held' || e.state === 'refused') throw new LogChanged('the server has lost what it had confirmed')
      await db.entry.put({ ...e, state: 'unsent' })
      for (const h of e.blobs ?? []) {
        const p = await db.photo.get(h)
        if (p?.bytes) await db.photo.put({ ...p, sent: 0 })
      }
    }
    await db.me.put({ ...(await db.me.get('device')), answered: true }, 'device')
  })
}

const pull = async () => {
  for (;;) {
    if (progress.stop) throw new NoConnection('stopped')
    const me = await device()
    let page
    try {
      page = await withToken(`/v1/pull?cursor=${encodeURIComponent(cursorQuery(me.cursor))}&bytes=${spend('pull')}`, { want: wantFrames })
    } catch (err) {
      if (err instanceof NoConnection) failed('pull', true)
      throw err
    }
    arrived('pull', sizeOf(page.acts))
    await apply(me, page)
    if (!page.more) return
    if (page.acts.length === 0) throw new NoConnection('a page without acts says that more follows')
  }
}

// apply checks all that is signed and chained in a page, then saves it with its cursor.
const apply = async (me, page) => {
  const server = await publicKey(fromBase64(me.serverKey))
  const c = page.cursor
  if (!c || !(await verify(server, c.sig, cursorText(me.co, c)))) throw new NoConnection('the cursor is not signed by the server')
  let n = me.cursor?.n ?? 0, head = me.cursor?.head ?? ''
  const acts = []
  for (const a of page.acts) {
    n++
    if (a.n > n && page.narrow && a.before !== undefined) [n, head] = [a.n, a.before] // what stands between is kept from this phone
    if (a.n !== n) throw new NoConnection('the log has a gap')
    if (!after[a.act]) throw new Problem('protocol-too-old', { title: 'update needed' }, 426)
    head = await nextHead(head, n, a.act, a.h)
    const env = JSON.parse(a.e)
    if ((await hashEnvelope(a.e)) !== a.h || env.co !== me.co || env.job !== a.job) throw new NoConnection('an entry is not the one that it says')
    if (a.b !== undefined && (await hashBlob(utf8(a.b))) !== env.body) throw new NoConnection('a body is not the one that its entry says')
    acts.push({ ...a, env })
  }
  const leap = page.narrow && !page.more && c.n > n // the rest is kept from it; the server's signature is all there is
  if (!leap && (c.n !== n || c.head !== head)) throw new NoConnection('the chain of the log does not lead to the cursor')
  await checkSeals(me, server, page)
  await write(['me', 'entry', 'log', 'mark', 'device', 'photo'], async (db) => {
    const now = await db.me.get('device')
    if ((now.cursor?.n ?? 0) !== (me.cursor?.n ?? 0) || (now.cursor?.epoch ?? '') !== (me.cursor?.epoch ?? '')) return // another tab has it
    let clk = now.clk
    for (const a of acts) {
      clk = merge(clk, a.env.clk, Date.now())
      await place(db, me, a)
    }
    for (const d of page.devices) await db.device.put(d)
    const narrow = now.narrow || page.narrow
    await db.me.put({ ...now, cursor: c, clk, narrow }, 'device')
    await noteTime(db, page.time)
    for (const d of narrow ? [] : page.digests) { // from where something is kept, not all of a job need be here
      const m = (await db.mark.get(d.job)) ?? { count: 0, sum: '' }
      if (m.count !== d.count || m.sum !== (d.sum ?? '')) throw new Problem('diverged', { title: 'what stands here is not what stands at the server' }, 409)
    }
  })
}

const checkSeals = async (me, server, page) => {
  const known = await read(['device'], (db) => db.device.all()), keys = new Map(known.map((d) => [d.dev, d.key]))
  for (const d of page.devices) {
    if (keys.has(d.dev) && keys.get(d.dev) !== d.key) throw new NoConnection('the server names another key for a device than before')
    keys.set(d.dev, d.key)
  }
  for (const s of page.seals) {
    const key = keys.get(s.dev), r = s.receipt
    if (!key || s.co !== me.co || !(await verify(await publicKey(fromBase64(key)), s.sig, sealText(s)))) throw new NoConnection('a seal is not right')
    if (!r || !covers(r, s) || !(await verify(server, r.sig, receiptText(r)))) throw new NoConnection('a receipt is not right')
  }
}

// place notes where an entry stands now.
const place = async (db, me, a) => {
  const to = after[a.act], before = await db.log.get(a.h)
  await db.log.put({ h: a.h, job: a.job, state: to })
  const stood = before?.state === 'standing', stands = to === 'standing'
  if (stood !== stands) {
    const m = (await db.mark.get(a.job)) ?? { job: a.job, count: 0, sum: '' }
    await db.mark.put({ job: a.job, count: m.count + (stands ? 1 : -1), sum: stands ? plus(m.sum, a.h) : minus(m.sum, a.h) })
  }
  if (stands && a.env.kind === 'erasure') await erase(db, a)
  if (a.env.dev !== me.dev) return
  const own = await db.entry.by('h').get(a.h)
  if (!own) throw new Problem('lane-forked', { title: 'the server has records of this phone that are not here' }, 409)
  await db.entry.put({ ...own, state: to, n: a.n, says: a.says ?? '' })
}

// erase throws away the keys of what people said, and the words as they were shown here, and photos that were taken here.
const erase = async (db, a) => {
  for (const r of a.env.refs ?? []) {
    const own = r.as === 'of' && (await db.entry.by('h').get(r.h))
    if (own) await db.entry.put({ ...own, k: undefined, shown: '(erased)' })
  }
  for (const h of JSON.parse(a.b ?? '{}').of_photos ?? []) {
    const p = await db.photo.get(h)
    if (p?.job !== a.job) continue
    await db.photo.remove(h)
    for (const e of await db.entry.by('job').all(a.job)) if (e.blobs?.includes(h)) await db.entry.put({ ...e, shown: `${e.shown} (photo erased)` })
  }
}

// searchSent looks after what was sent and did not come with the log: a server that lost it before anybody read it has no cursor to tell.
const searchSent = async () => {
  const missing = () => read(['entry'], (db) => db.entry.by('state').count('sent'))
  if ((await missing()) === 0) return
  await askLanes()
  await push()
  await pull()
  if ((await missing()) > 0) throw new LogChanged('what was sent is not in the log')
}

// startOver reads the log anew from its beginning. What stood is to be confirmed, and stays visible.
const startOver = () =>
  write(['me', 'entry', 'log', 'mark'], async (db) => {
    for (const e of await db.entry.all()) if (e.state !== 'unsent') await db.entry.put({ ...e, state: 'to_confirm' })
    await db.log.clear()
    await db.mark.clear()
    await db.me.put({ ...(await db.me.get('device')), cursor: null, narrow: false, answered: false }, 'device')
  })

const people = async () => {
  const { people } = await withToken('/v1/people')
  await write(['people', 'person'], async (db) => {
    for (const q of people) {
      await db.people.put(q)
      const p = await db.person.get(q.id)
      if (p && (p.role !== q.role || p.name !== q.name)) await db.person.put({ ...p, role: q.role, name: q.name })
    }
  })
}

// photos sends pictures one by one; one that can't go does not keep the others back.
const photos = async () => {
  let first
  for (const h of await read(['photo'], async (db) => (await db.photo.by('sent').all(0)).map((p) => p.h))) {
    if (progress.stop) throw new NoConnection('stopped')
    try {
      await sendPhoto(h)
    } catch (err) {
      if (!(err instanceof Problem) || ['sign-in-needed', 'device-revoked', 'no-space', 'slow-down', 'busy'].includes(err.name)) throw err
      first ??= err
    }
  }
  await tidy()
  if (first) throw first
}

// sendPhoto sends a picture in pieces and goes on where the server says that it has it up to.
const sendPhoto = async (h) => {
  const p = await read(['photo'], (db) => db.photo.get(h)), bytes = new Uint8Array(p.bytes)
  let part = await putPiece(p, 0, new Uint8Array(0))
  while (!part.whole) {
    if (progress.stop) throw new NoConnection('stopped')
    const at = part.have
    part = await putPiece(p, at, bytes.subarray(at, at + spend('piece')))
    if (!part.whole && part.have <= at) throw new Problem('trouble', { title: 'the server does not take this photo' }, 409)
  }
  await write(['photo'], async (db) => db.photo.put({ ...(await db.photo.get(h)), sent: Date.now() }))
  tell('sending')
}

// A browser whose connection is cut says the request again by itself, once, and tells nobody; it shows only in that right behind another
// piece a connection had to be made.
let lastPiece = 0
const newConnection = async (h) => {
  for (let tries = 0; tries < 40; tries++) { // the browser notes it a little later than the answer is here
    const e = performance.getEntriesByType('resource').find((e) => e.name.includes(h))
    if (e) return e.connectEnd > e.connectStart
    await new Promise((done) => setTimeout(done, 5))
  }
  return false
}

const putPiece = async (p, at, piece) => {
  const began = performance.now(), before = lastPiece
  lastPiece = 0
  performance.clearResourceTimings()
  try {
    const part = await withToken(`/v1/jobs/${p.job}/photos/${p.h}?at=${at}&of=${p.bytes.byteLength}`, { method: 'PUT', photo: piece })
    const took = performance.now() - began
    if (before > 0 && began - before < 5000 && (await newConnection(p.h))) cutUnseen()
    arrived('piece', piece.length, took)
    lastPiece = performance.now()
    return part
  } catch (err) {
    if (err instanceof NoConnection) failed('piece', true)
    throw err
  }
}

// Sent pictures stay for sixty days, because a server that is restored from a backup asks for them again; sooner they go only where
// the space is needed.
const keepFor = 60 * 24 * 3600 * 1000
export const tidy = async (needed = 0) => {
  const { usage = 0, quota = 1 } = (await navigator.storage?.estimate?.()) ?? {}
  const tight = quota - usage < needed + 50e6
  await write(['photo'], async (db) => {
    const sent = (await db.photo.all()).filter((p) => p.sent > 0).sort((a, b) => a.sent - b.sent)
    for (const p of await db.photo.by('sent').all(-1)) if (Date.now() - p.at > 24 * 3600 * 1000) await db.photo.remove(p.h) // of a form that was left
    for (const p of sent) if (p.bytes && (tight || Date.now() - p.sent > keepFor)) await db.photo.put({ ...p, bytes: null })
  })
}

// cutOff leaves what was not sent with the supervisor and locks the phone. It needs no sign-in: the seals are this phone's word.
const cutOff = async () => {
  const me = await device(), list = await unsent()
  await write(['me'], async (db) => {
    await db.me.put({ ...me, state: 'revoked' }, 'device')
    await db.me.put({ person: '' }, 'now')
  })
  tell('account')
  for (let i = 0; i < list.length; i += 200) {
    const part = list.slice(i, i + 200)
    await ask('/v1/aside', { method: 'POST', server: me.keyID, batch: writeBatch({ entries: part, seals: await sealed(part) }), want: wantFrames }).catch(() => {})
  }
}
