// What waits to be sent, where it is kept, and how to get it out when there is no way to send it.
import { exchange, progress, sealed } from './exchange.js'
import { fromURL64, toHex, utf8 } from './bytes.js'
import { recordLine } from './jobs.js'
import { withThumbs } from './kept.js'
import { answer, button, count, h, megabytes, moment, show, where } from './screen.js'
import { changes, line, standing, warnings } from './standing.js'
import { read, room } from './store.js'
import { writeBatch } from './wire.js'
import { zip } from './zip.js'

// unsentFile is what the office imports with: server aside import FILE. The batches are those that would have been sent, sealed by this
// phone; importing them twice, or after they were sent after all, does no harm.
export const unsentFile = async () => {
  const { entries, photos } = await read(['entry', 'photo'], async (db) => ({
    entries: (await db.entry.by('state').all('unsent')).sort((a, b) => a.run - b.run), photos: (await db.photo.by('sent').all(0)).filter((p) => p.bytes) }))
  const files = []
  for (let i = 0; i < entries.length; i += 100) {
    const part = entries.slice(i, i + 100)
    files.push({ name: `batches/${String(i / 100 + 1).padStart(4, '0')}.frames`, bytes: utf8(writeBatch({ entries: part, seals: await sealed(part) })) })
  }
  for (const p of photos) files.push({ name: `photos/${p.job}/${toHex(fromURL64(p.h))}.jpg`, bytes: new Uint8Array(p.bytes) })
  return { blob: zip(files), entries: entries.length, photos: photos.length }
}

const save = async () => {
  const { blob } = await unsentFile()
  const a = h('a', { href: URL.createObjectURL(blob), download: `tacet-unsent-${new Date().toISOString().slice(0, 10)}.zip` })
  document.body.append(a)
  a.click()
  a.remove()
  setTimeout(() => URL.revokeObjectURL(a.href), 60000)
}

export const waitingPage = async (locked) => {
  const s = await standing(), l = line(s), space = await room()
  const mine = locked ? [] : await read(['entry'], async (db) =>
    [...(await db.entry.by('state').all('unsent')), ...(await db.entry.by('state').all('sent')), ...(await db.entry.by('state').all('to_confirm')), ...s.held, ...s.refused].filter((e) => e.by === s.who?.id).sort((a, b) => b.run - a.run))
  const waits = changes(s), elses = s.unsent - mine.filter((e) => e.state === 'unsent').length
  show('To be sent', !locked && where(['Jobs', '#/']), answer(locked ? l.says : waits ? `${waits} to send.` : 'Nothing waits to be sent.', l.mark), !locked && h('p', { class: 'also' }, l.says),
    !locked && warnings(s).map((w) => h('p', { class: 'wait' }, w)),
    !locked && elses > 0 && h('p', {}, `${count(elses, 'change')} of somebody else who uses this phone ${elses === 1 ? 'is' : 'are'} among them.`),
    !locked && s.held.length > 0 && h('p', { class: 'wait' }, `${count(s.held.length, 'record')} ${s.held.length === 1 ? 'waits' : 'wait'} for the supervisor. ${s.held.length === 1 ? 'It is' : 'They are'} kept and nobody else counts on ${s.held.length === 1 ? 'it' : 'them'} yet.`),
    !locked && waits && h('p', { class: 'act' }, progress.running
      ? h('button', { class: 'do', type: 'button', onclick: () => { progress.stop = true } }, 'Stop sending')
      : h('button', { class: 'do', type: 'button', onclick: () => exchange() }, 'Send now')),
    mine.length > 0 && h('section', {}, h('h2', {}, 'Yours on this phone'), h('ul', { class: 'records' }, (await withThumbs(mine.slice(0, 100))).map((e) => recordLine({ ...e, place: e.on.surface })))),
    h('section', {}, h('h2', {}, 'Where it is kept'),
      h('p', {}, space.kept ? 'The browser has promised to keep what is saved here.' : 'The browser has not promised to keep what is saved here: when space runs short it may clear it. Putting Tacet on the home screen helps: in the browser’s menu, choose to add or install it.'),
      h('p', {}, `Used ${megabytes(space.usage)}, free ${megabytes(space.free)}.`), s.oldest < Infinity && h('p', {}, `The oldest that is not sent is from ${moment(s.oldest)}.`),
      !space.kept && !locked && button('Ask the browser to keep it', async () => { await navigator.storage?.persist?.(); waitingPage() }),
      waits && button('Save the unsent work as a file', save), waits && h('p', { class: 'hint' }, 'One file with records and photos. The office takes it in with: server aside import FILE.')))
}
