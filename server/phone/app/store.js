// The database of the phone. What is said to be saved was committed with strict durability before it was said.

const name = 'tacet', version = 1

// The stores, with the keys by which things are found.
const stores = {
  me: null, // "device": the key, the lanes' ends, the cursor; "now": who uses the phone
  person: 'id', // everybody who signed in here, with their tokens and PIN
  lane: 'job',
  entry: 'run', // what was recorded here, in its order; it stays
  photo: 'h', // pictures taken here, until the server has them and for a while after
  log: 'h', // where each entry of the company's log stands
  mark: 'job', // how many stand in each job, and the sum of their hashes
  device: 'dev', // keys of others' devices
  people: 'id', // names
  kept: ['person', 'job'], // what was taken along
}

let open
export const database = () =>
  (open ??= new Promise((done, fail) => {
    const ask = indexedDB.open(name, version)
    ask.onupgradeneeded = () => {
      for (const [s, keyPath] of Object.entries(stores)) ask.result.createObjectStore(s, keyPath ? { keyPath } : undefined)
      const entry = ask.transaction.objectStore('entry')
      entry.createIndex('h', 'h', { unique: true })
      entry.createIndex('id', 'id', { unique: true })
      entry.createIndex('place', ['job', 'seq'], { unique: true })
      entry.createIndex('state', 'state')
      entry.createIndex('job', 'job')
      ask.transaction.objectStore('photo').createIndex('sent', 'sent')
    }
    ask.onsuccess = () => {
      ask.result.onversionchange = () => ask.result.close()
      ask.result.onclose = () => (open = undefined) // a disk that ran full closes it; it is opened anew
      done(ask.result)
    }
    ask.onerror = () => fail(ask.error)
    ask.onblocked = () => fail(new Error('another tab holds an older version open; close it'))
  }))

const answered = (request) =>
  new Promise((done, fail) => {
    request.onsuccess = () => done(request.result)
    request.onerror = () => fail(request.error)
  })

// one is a store inside a transaction.
const one = (store) => ({
  get: (key) => answered(store.get(key)),
  all: (range) => answered(store.getAll(range)),
  count: (range) => answered(store.count(range)),
  put: (value, key) => answered(store.put(value, key)),
  add: (value) => answered(store.add(value)),
  remove: (key) => answered(store.delete(key)),
  clear: () => answered(store.clear()),
  by: (index) => ({ get: (key) => answered(store.index(index).get(key)), all: (key) => answered(store.index(index).getAll(key)), count: (key) => answered(store.index(index).count(key)) }),
})

// run runs work in one transaction; it is committed to the disk when run returns. Within work only the database may be waited for: a
// transaction ends by itself as soon as nothing more is asked of it.
const run = async (mode, names, work) => {
  const db = await database()
  const tx = db.transaction(names, mode, mode === 'readwrite' ? { durability: 'strict' } : undefined)
  const end = new Promise((done, fail) => {
    tx.oncomplete = () => done()
    tx.onabort = () => fail(tx.error ?? new Error('not saved'))
  })
  end.catch(() => {}) // said below
  let out
  try {
    out = await work(Object.fromEntries(names.map((n) => [n, one(tx.objectStore(n))])))
  } catch (err) {
    try {
      tx.abort()
    } catch {
      // it has ended by itself
    }
    await end.catch(() => {})
    throw full(tx.error) ? tx.error : err
  }
  await end
  return out
}

export const read = (names, work) => run('readonly', names, work)
export const write = (names, work) => run('readwrite', names, work)

// full tells whether an error means that there is no space.
export const full = (err) => ['QuotaExceededError', 'UnknownError'].includes(err?.name) || /IOError|failed to write/i.test(err?.message ?? '') // browsers have several words for a disk that took no more

// room is how much space there is and whether the browser has promised to keep it.
export const room = async () => {
  const { usage = 0, quota = 0 } = (await navigator.storage?.estimate?.()) ?? {}
  return { usage, quota, free: Math.max(0, quota - usage), kept: (await navigator.storage?.persisted?.()) ?? false }
}

// tell lets the other tabs know that something has changed.
const channel = new BroadcastChannel('tacet')
export const tell = (what) => {
  channel.postMessage(what)
  dispatchEvent(new CustomEvent('tacet', { detail: what }))
}
channel.onmessage = (event) => dispatchEvent(new CustomEvent('tacet', { detail: event.data }))
