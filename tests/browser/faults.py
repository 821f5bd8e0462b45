"""Faults put into a tablet from outside its program: storage, connections, other tabs, other copies."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import BrowserContext, Page

# Remembers every connection to IndexedDB that the page opens, so that a test can end it.
REMEMBER_CONNECTIONS = """(() => {
  const open = IDBFactory.prototype.open;
  window.connections = [];
  IDBFactory.prototype.open = function (...given) {
    const asked = open.apply(this, given);
    asked.addEventListener('success', () => window.connections.push(asked.result));
    return asked;
  };
})()"""
# As the browser ends one: closed, and told so unless even that is lost.
END_CONNECTIONS = """(told) => window.connections.splice(0).forEach((one) => {
  one.close();
  if (told) one.dispatchEvent(new Event('close'));
})"""
# The stores of the first release, with records in them that no key had signed.
FIRST_RELEASE = """({chain, rows, here}) => new Promise((made, failed) => {
  const asked = indexedDB.open('clampbook-bench', 1);
  asked.onerror = () => failed(asked.error);
  asked.onupgradeneeded = () => {
    const db = asked.result;
    db.createObjectStore('own', {keyPath: 'n'});
    db.createObjectStore('others', {keyPath: 'seq'}).createIndex('setup', 'setup');
    db.createObjectStore('verdicts', {keyPath: 'event'});
    ['drafts', 'chain', 'server', 'shop', 'here', 'settings'].forEach((name) => db.createObjectStore(name));
  };
  asked.onsuccess = () => {
    const db = asked.result;
    const all = db.transaction(['own', 'chain'], 'readwrite');
    rows.forEach((row) => all.objectStore('own').put(row));
    if (chain) all.objectStore('chain').put(chain, 'one');
    all.oncomplete = () => { if (here) window.kept = db; else db.close(); made(db.version); };
    all.onerror = () => failed(all.error);
  };
})"""


# The browser looks at its quota now and then: write beside the bench until it has seen the new one.
NOTICED = """(full) => new Promise((noticed, failed) => {
  const asked = indexedDB.open('ballast', 1);
  asked.onerror = () => failed(asked.error);
  asked.onupgradeneeded = () => asked.result.createObjectStore('any');
  asked.onsuccess = () => {
    const db = asked.result;
    const end = () => { db.close(); noticed(); };
    const again = () => setTimeout(write, 50);
    const write = () => {
      const all = db.transaction('any', 'readwrite');
      all.objectStore('any').put('x'.repeat(100), 1);
      all.oncomplete = full ? again : end;
      all.onabort = full ? end : again;
    };
    write();
  };
})"""


def limit_storage(page: Page, url: str, quota_bytes: int | None) -> None:
    """What this origin may keep from now on; None lifts the limit."""
    session = page.context.new_cdp_session(page)
    limit = {} if quota_bytes is None else {"quotaSize": quota_bytes}
    session.send("Storage.overrideQuotaForOrigin", {"origin": url, **limit})
    page.evaluate(NOTICED, quota_bytes is not None)


def wipe(page: Page, url: str) -> None:
    """As when somebody clears the browser's data of this address."""
    session = page.context.new_cdp_session(page)
    session.send("Storage.clearDataForOrigin", {"origin": url, "storageTypes": "all"})


def freeze(page: Page) -> None:
    page.context.new_cdp_session(page).send("Page.setWebLifecycleState", {"state": "frozen"})


def remember_connections(context: BrowserContext) -> None:
    context.add_init_script(REMEMBER_CONNECTIONS)


def end_connections(page: Page, *, told: bool) -> None:
    page.evaluate(END_CONNECTIONS, told)


def first_release(page: Page, url: str, rows: list[dict[str, Any]], **more: Any) -> None:
    """Fill this browser's storage as the first release of the bench did."""
    page.goto(f"{url}/recover")
    given = {"chain": None, "here": False, "rows": rows, **more}
    assert page.evaluate(FIRST_RELEASE, given) == 1
