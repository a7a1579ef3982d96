// The jobs that were taken along, and their surfaces.
import { present } from './account.js'
import { choices, leave, list, old, one, own, take, waiting } from './kept.js'
import { act, answer, count, h, mark, megabytes, moment, more, picture, show, where } from './screen.js'
import { complain } from './form.js'
import { room } from './store.js'

const age = (k) => [
  h('p', { class: old(k) ? 'wait' : undefined }, `Taken along ${moment(k.took)}, ${count(k.data.surfaces.length, 'surface')}, ${megabytes(k.size)}.`, old(k) && ' That is more than a day ago: others may have recorded since.'),
]

const rows = (k, mine) =>
  h('ul', { class: 'rows' }, k.data.surfaces.map((s) => {
    const here = mine.filter((e) => e.on.surface === s.code)
    return h('li', {}, h('a', { href: `#/j/${k.job}/s/${encodeURIComponent(s.code)}` }, picture(s.mini, { class: 'mini', alt: '', width: 72, height: 40 }),
      h('span', { class: 'name' }, s.code), h('span', { class: 'what' }, s.where),
      h('span', { class: 'says' }, mark(s.mark), s.answer, here.length > 0 && ` Since then recorded here: ${here.length}.`),
      s.names && h('span', { class: 'says by' }, s.names)))
  }))

export const home = async () => {
  const kept = await list()
  if (kept.length === 0)
    return show('Jobs', answer('No job is taken along.'), h('p', { class: 'also' }, 'While there is a signal, choose the jobs that you will work on. They are kept on this phone.'),
      act('Take jobs along', '#/take'), h('p', { class: 'deeds' }, h('a', { href: '#/scan' }, 'Open a sheet by its code')))
  const parts = []
  for (const k of kept) parts.push(h('section', { class: 'job' }, h('h2', {}, h('a', { href: `#/j/${k.job}` }, k.data.name)), k.data.site && h('p', {}, k.data.site), age(k), rows(k, await own(k))))
  show('Jobs', answer(`${count(kept.length, 'job')} taken along.`), parts,
    act('Open a sheet by its code', '#/scan'), h('p', { class: 'deeds' }, h('a', { href: '#/take' }, 'Take other jobs along')))
}

export const jobPage = async (job) => {
  const k = await one(job)
  if (!k) return gone()
  const mine = await own(k)
  show(k.data.name, where(['Jobs', '#/']), answer(k.data.name), k.data.site && h('p', { class: 'also' }, k.data.site), age(k), rows(k, mine),
    mine.filter((e) => !e.on.surface).length > 0 && h('section', {}, h('h2', {}, 'Recorded here since'), h('ul', { class: 'records' }, mine.filter((e) => !e.on.surface).map(recordLine))),
    cautions(k.data.cautions),
    h('p', { class: 'deeds' }, h('a', { href: `#/j/${job}/note` }, 'Write a note')))
}

export const gone = () =>
  show('Not here', answer('That is not on this phone.'), h('p', { class: 'also' }, 'It was not taken along by you, or the phone was given to somebody else.'), act('To the jobs', '#/'))

export const cautions = (cs) =>
  cs.length > 0 && more(`Cautions, for others to answer: ${cs.map((c) => c.name).join(', ')}`, h('dl', { class: 'asked' }, cs.map((c) => h('div', {}, h('dt', {}, c.name), h('dd', {}, c.asks), h('dd', {}, c.says)))))

// recordLine is a record of this phone with where it stands.
export const recordLine = (e) =>
  h('li', {}, h('p', {}, mark(waiting(e) ? 'waiting' : e.state === 'standing' ? 'on_server' : 'held'), h('span', {}, [e.place, e.on.layer && `layer ${e.on.layer}`].filter(Boolean).join(', ').replace(/^l/, 'L'), (e.place || e.on.layer) && ': ', e.shown)),
    h('p', { class: 'by' }, `${moment(e.at)}, ${states[e.state]}${e.says ? `: “${e.says}”` : ''}`),
    e.thumbs?.length > 0 && h('p', { class: 'photos' }, e.thumbs.map((t, i) => picture(new Blob([t], { type: 'image/jpeg' }), { alt: `Photo ${i + 1}`, height: 96 }))))

const states = {
  unsent: 'saved on this device, waits to be sent', sent: 'sent, to be confirmed', to_confirm: 'is being sent again', standing: 'at the office',
  held: 'waits for the supervisor; nobody else counts on it yet', refused: 'not taken by the supervisor; it stays in the history',
}

// choosing is the page on which jobs are taken along.
export const choosing = async () => {
  const kept = new Map((await list()).map((k) => [k.job, k]))
  let offered
  try {
    offered = await choices()
  } catch {
    return show('Take jobs along', where(['Jobs', '#/']), answer('Jobs are taken along with a signal.'), h('p', { class: 'also' }, 'There is no connection with the office now. What was taken along before is still here.'), act('To the jobs', '#/'))
  }
  const who = await present()
  const boxes = h('form', { class: 'form' }, h('fieldset', { class: 'field' }, h('legend', {}, 'Jobs'),
    offered.map((j) => h('label', { class: 'pick' }, h('input', { type: 'checkbox', name: 'job', value: j.id, checked: kept.has(j.id) }),
      h('span', {}, j.name, h('span', { class: 'hint' }, [j.site, kept.has(j.id) && `Taken along ${moment(kept.get(j.id).took)}.`].filter(Boolean).join(' ')))))),
    h('p', { class: 'act' }, h('button', { class: 'do' }, 'Take these along')))
  boxes.dirty = () => [...boxes.elements].some((e) => e.checked !== e.defaultChecked)
  boxes.addEventListener('submit', async (event) => {
    event.preventDefault()
    if (boxes.busy) return
    boxes.busy = true
    try {
      const want = new Set([...boxes.querySelectorAll(':checked')].map((b) => b.value))
      boxes.saved = true
      for (const job of kept.keys()) if (!want.has(job)) await leave(job)
      for (const job of want) await take(job)
      location.hash = '#/'
    } catch (err) {
      complain(boxes, [['', `${err.message}. What was taken along before is still here.`]])
    } finally {
      boxes.busy = false
    }
  })
  const space = await room()
  show('Take jobs along', where(['Jobs', '#/']), answer('Which jobs does this phone take along?'),
    h('p', { class: 'also' }, `Kept for ${who.name} alone. Space on this phone: ${megabytes(space.free)}.`), offered.length ? boxes : h('p', {}, 'The office has no job yet.'))
}
