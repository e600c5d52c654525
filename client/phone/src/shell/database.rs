//! The home's rows in IndexedDB.
//!
//! One database, one object store for each table, keys and values as bytes. What is given to be
//! stored goes in one transaction of durability "strict" and is durable when its `complete` event
//! has come; the next waits for it. Where one fails, those behind it are dropped: they build on
//! what is not there.

use std::cell::{Cell, RefCell};
use std::collections::VecDeque;

use gudgeon_client::store::{Batch, Row, Step, StoreError, Table, Trouble};
use js_sys::{Array, Promise, Uint8Array};
use leptos::prelude::window;
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{IdbDatabase, IdbKeyRange, IdbObjectStore, IdbTransaction};

use super::{js, send, tabs};
use crate::app::{Event, Failure};

const NAME: &str = "gudgeon";

/// In the browser's small storage: that there was something here.
const MARK: &str = "gudgeon-kept";

const WRITING: &str = "writing to the browser's database";

thread_local! {
    static DATABASE: RefCell<Option<IdbDatabase>> = const { RefCell::new(None) };
    static QUEUE: RefCell<VecDeque<Vec<Batch>>> = const { RefCell::new(VecDeque::new()) };
    static BUSY: Cell<bool> = const { Cell::new(false) };
    static TO_READ: Cell<bool> = const { Cell::new(false) };
}

/// Puts batches in line to be written.
pub(super) fn store(batches: Vec<Batch>) {
    QUEUE.with_borrow_mut(|queue| queue.push_back(batches));
    run();
}

/// Reads everything, once what is in line is written.
pub(super) fn read() {
    TO_READ.set(true);
    run();
}

fn run() {
    if BUSY.replace(true) {
        return;
    }
    spawn_local(async {
        work().await;
        BUSY.set(false);
    });
}

async fn work() {
    loop {
        let next = QUEUE.with_borrow_mut(VecDeque::pop_front);
        if let Some(batches) = next {
            match write(&batches).await {
                Ok(()) => {
                    mark();
                    tabs::tell_others();
                    send(Event::Stored);
                }
                Err(error) => {
                    QUEUE.with_borrow_mut(VecDeque::clear);
                    DATABASE.set(None);
                    send(Event::NotStored(error));
                }
            }
        } else if TO_READ.replace(false) {
            match read_all().await {
                Ok(rows) => {
                    let lost = rows.is_empty() && is_marked();
                    send(Event::Rows { rows, lost });
                }
                Err(failure) => send(Event::NotRead(failure)),
            }
        } else {
            return;
        }
    }
}

async fn database() -> Result<IdbDatabase, JsValue> {
    if let Some(open) = DATABASE.with_borrow(Clone::clone) {
        return Ok(open);
    }
    let factory = window().indexed_db()?.ok_or_else(|| JsValue::from_str("this browser has none"))?;
    let request = factory.open_with_u32(NAME, 1)?;
    let making = request.clone();
    let upgrade = Closure::once_into_js(move || {
        if let Ok(database) = making.result().and_then(|result| result.dyn_into::<IdbDatabase>()) {
            for table in Table::ALL {
                if database.create_object_store(table.name()).is_err() {
                    leptos::logging::error!("no table {}", table.name());
                }
            }
        }
    });
    request.set_onupgradeneeded(Some(upgrade.unchecked_ref()));
    let opened = settled(&request, "success", &["error", "blocked"]);
    opened.await.map_err(|_| request.error().ok().flatten().map_or(JsValue::UNDEFINED, JsValue::from))?;
    let database: IdbDatabase = request.result()?.dyn_into()?;
    // The browser, or the person, has thrown it away under us.
    js::on(&database, "close", |_| {
        DATABASE.set(None);
        read();
    });
    DATABASE.set(Some(database.clone()));
    Ok(database)
}

/// Waits for one of these events of a request or transaction.
async fn settled(target: &JsValue, good: &'static str, bad: &'static [&'static str]) -> Result<(), JsValue> {
    let promise = Promise::new(&mut |resolve, reject| {
        let listen = |name: &str, function: &js_sys::Function| {
            js::call(target, "addEventListener", &[JsValue::from_str(name), function.into()])
        };
        let all = std::iter::once(listen(good, &resolve)).chain(bad.iter().map(|name| listen(name, &reject)));
        all.filter_map(Result::err).for_each(|error| {
            let _ = reject.call1(&JsValue::UNDEFINED, &error);
        });
    });
    JsFuture::from(promise).await.map(|_| ())
}

fn tables() -> Array {
    Table::ALL.iter().map(|table| JsValue::from_str(table.name())).collect()
}

async fn write(batches: &[Batch]) -> Result<(), StoreError> {
    let database = database().await.map_err(|error| trouble(&error))?;
    let strict = js::object(&[("durability", "strict".into())]);
    let begun = js::call(&database, "transaction", &[tables().into(), "readwrite".into(), strict]);
    let transaction: IdbTransaction =
        begun.and_then(|begun| begun.dyn_into()).map_err(|error| trouble(&error))?;
    let done = settled(&transaction, "complete", &["abort", "error"]);
    if let Err(error) = do_steps(&transaction, batches) {
        let _ = transaction.abort();
        return Err(trouble(&error));
    }
    done.await.map_err(|_| {
        let error = transaction.error().map_or(JsValue::UNDEFINED, JsValue::from);
        trouble(&error)
    })
}

fn do_steps(transaction: &IdbTransaction, batches: &[Batch]) -> Result<(), JsValue> {
    let table = |table: &Table| transaction.object_store(table.name());
    for step in batches.iter().flat_map(Batch::steps) {
        match step {
            Step::Put(of, key, value) => {
                table(of)?.put_with_key(&bytes(value), &bytes(key))?;
            }
            Step::Remove(of, key) => {
                table(of)?.delete(&bytes(key))?;
            }
            Step::RemoveAll(of, prefix) => {
                remove_all(&table(of)?, prefix)?;
            }
        }
    }
    Ok(())
}

fn remove_all(table: &IdbObjectStore, prefix: &[u8]) -> Result<(), JsValue> {
    match (prefix.is_empty(), after(prefix)) {
        (true, _) => table.clear()?,
        (false, Some(end)) => {
            let range =
                IdbKeyRange::bound_with_lower_open_and_upper_open(&bytes(prefix), &bytes(&end), false, true)?;
            table.delete(&range)?
        }
        (false, None) => table.delete(&IdbKeyRange::lower_bound(&bytes(prefix))?.into())?,
    };
    Ok(())
}

/// The first key after all that begin so; none where all the rest does.
fn after(prefix: &[u8]) -> Option<Vec<u8>> {
    let at = prefix.iter().rposition(|byte| *byte != u8::MAX)?;
    let mut end = prefix[..=at].to_vec();
    end[at] += 1;
    Some(end)
}

fn bytes(bytes: &[u8]) -> JsValue {
    Uint8Array::from(bytes).into()
}

async fn read_all() -> Result<Vec<(Table, Row)>, Failure> {
    if !window().is_secure_context() {
        return Err(Failure::new(
            "insecure",
            "this address is not safe enough for the browser to keep anything",
            "open the address that begins with https, as the lead's sheet says",
        ));
    }
    let not_read = |error: &JsValue| {
        Failure::new(
            "not-read",
            format!("the browser does not open its database ({})", js::said(error)),
            "leave private browsing, or allow this page to keep data, then reload",
        )
    };
    let database = database().await.map_err(|error| not_read(&error))?;
    let transaction = database.transaction_with_str_sequence(&tables()).map_err(|error| not_read(&error))?;
    let done = settled(&transaction, "complete", &["abort", "error"]);
    let mut asked = Vec::new();
    for table in Table::ALL {
        let all = transaction
            .object_store(table.name())
            .and_then(|store| Ok((store.get_all_keys()?, store.get_all()?)));
        asked.push((*table, all.map_err(|error| not_read(&error))?));
    }
    done.await.map_err(|error| not_read(&error))?;
    let mut rows = Vec::new();
    for (table, (keys, values)) in asked {
        let list = |request: &web_sys::IdbRequest| request.result().map(|all| Array::from(&all));
        let keys = list(&keys).map_err(|error| not_read(&error))?;
        let values = list(&values).map_err(|error| not_read(&error))?;
        let row = |(key, value): (JsValue, JsValue)| {
            (table, (Uint8Array::new(&key).to_vec(), Uint8Array::new(&value).to_vec()))
        };
        rows.extend(keys.iter().zip(values.iter()).map(row));
    }
    Ok(rows)
}

fn trouble(error: &JsValue) -> StoreError {
    let name = js::get(error, "name").as_string().unwrap_or_default();
    let kind = if name == "QuotaExceededError" { Trouble::Full } else { Trouble::Device };
    StoreError::new(kind, WRITING, js::said(error))
}

fn mark() {
    if let Ok(Some(storage)) = window().local_storage() {
        // Without it, a loss is not told apart from a first visit; nothing else rests on it.
        let _ = storage.set_item(MARK, "1");
    }
}

fn is_marked() -> bool {
    let storage = window().local_storage().ok().flatten();
    storage.is_some_and(|storage| storage.get_item(MARK).ok().flatten().is_some())
}
