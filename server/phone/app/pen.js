// Entries are written into the lanes of this phone: place in the lane, running number and clock are drawn in the transaction that saves.
// Hashing can't be waited for inside a transaction, so the entry is made before it, and made again where another tab was faster.
import { next, timeOf } from './clock.js'
import { bodyText, newEntry, newID, sealWords } from './entry.js'
import { read, tell, write } from './store.js'

// The versions of the kinds as this program writes them.
const versions = { install: 1, check: 1, photo: 1, substitute: 1, note: 2 }

// What people said, and who is named as having done it, is sealed, so that it can be erased for ever. An id in place of a name is no words.
const sealed = ['text', 'note', 'by']
const isID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/

const tooFast = Symbol('another tab was faster')

// record saves one record of a person and returns it. Photos are saved with the entry that names them, all or nothing.
export const record = async ({ job, kind, on = {}, refs = [], body, photos = [], says }, by) => {
  for (let tries = 0; tries < 50; tries++) {
    const made = await make({ job, kind, on, refs, body, photos, says }, by)
    try {
      await write(['me', 'lane', 'entry', 'photo'], async (db) => {
        const me = await db.me.get('device')
        if (me.nextRun !== made.run || me.state === 'revoked') throw tooFast
        await db.entry.add(made)
        await db.lane.put({ job, seq: made.seq, h: made.h, run: made.run })
        for (const p of photos) await db.photo.put({ ...p, job, by: by.id, sent: 0, at: made.at })
        await db.me.put({ ...me, nextRun: me.nextRun + 1, clk: made.clk }, 'device')
      })
      tell('recorded')
      return made
    } catch (err) {
      if (err !== tooFast && err?.name !== 'ConstraintError') throw err
    }
  }
  throw new Error('Not saved: this phone is busy. Try again.')
}

const make = async ({ job, kind, on, refs, body, photos, says }, by) => {
  const { me, end } = await read(['me', 'lane'], async (db) => ({ me: await db.me.get('device'), end: (await db.lane.get(job)) ?? { seq: 0, h: '' } }))
  if (me.state === 'revoked') throw new Error('This device was removed. Nothing more can be recorded with it.')
  const now = Math.min(Math.max(Date.now(), 0), 2 ** 47)
  const clk = next(me.clk, now)
  const words = {}, rest = { ...body }
  let k
  for (const f of sealed) if (f in rest && !(f === 'by' && isID.test(rest[f]))) [words[f], rest[f]] = [rest[f], undefined]
  for (const f in words) delete rest[f]
  if (Object.keys(words).length) ({ k, sealed: rest.sealed } = await sealWords(words))
  const entry = await newEntry(
    {
      id: newID(now), co: me.co, job, dev: me.dev, seq: end.seq + 1, prev: end.h, run: me.nextRun, clk, off: me.off,
      seen: { epoch: me.cursor?.epoch ?? '', n: me.cursor?.n ?? 0 }, by: by.id, role: by.role, kind, kv: versions[kind], on, refs, blobs: photos.map((p) => p.h),
    },
    bodyText(rest),
  )
  return { ...entry, k, at: now, state: 'unsent', n: 0, says: '', shown: says, recorded: timeOf(clk) }
}
