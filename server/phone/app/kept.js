// What was taken along. It belongs to the person who took it; nobody else who uses the phone sees it.
import { device, present, withToken } from './account.js'
import { read, tell, write } from './store.js'

const day = 24 * 3600 * 1000

export const choices = async () => (await withToken('/v1/take-along')).jobs

// take fetches a job as it stands now. It is whole here, or the older one stays.
export const take = async (job) => {
  const who = await present(), run = (await device()).nextRun
  const data = await withToken(`/v1/jobs/${encodeURIComponent(job)}/take-along`, { patience: 120000 })
  delete data.keyID
  const size = JSON.stringify(data).length
  await write(['kept'], (db) => db.kept.put({ person: who.id, job: data.job, made: data.made, took: Date.now(), run, size, data }))
  tell('kept')
}

export const leave = async (job) => {
  const who = await present()
  await write(['kept'], (db) => db.kept.remove([who.id, job]))
  tell('kept')
}

export const list = async () => {
  const who = await present()
  return who ? read(['kept'], async (db) => (await db.kept.all(IDBKeyRange.bound([who.id], [who.id, []]))).sort((a, b) => a.data.name.localeCompare(b.data.name))) : []
}

export const one = async (job) => {
  const who = await present()
  return who ? read(['kept'], (db) => db.kept.get([who.id, job])) : undefined
}

export const old = (k) => Date.now() - k.took > day

// again fetches all of it anew, after what was recorded here has arrived.
export const again = async () => {
  for (const k of await list()) await take(k.job)
}

// own are the records that this phone has of a place and that what was taken along can't know yet, oldest first.
export const own = async (k, surface) => {
  const who = await present()
  const list = await read(['entry'], (db) => db.entry.by('job').all(k.job))
  return withThumbs(list.filter((e) => e.by === who.id && (surface === undefined || e.on.surface === surface) && (waiting(e) || e.run >= k.run)))
}

// withThumbs puts to each record the small pictures that this phone has of it.
export const withThumbs = (list) =>
  read(['photo'], async (db) => {
    const out = []
    for (const e of list) {
      const thumbs = []
      for (const h of e.blobs ?? []) thumbs.push((await db.photo.get(h))?.thumb)
      out.push({ ...e, thumbs: thumbs.filter(Boolean) })
    }
    return out
  })

export const waiting = (e) => ['unsent', 'sent', 'to_confirm'].includes(e.state)
