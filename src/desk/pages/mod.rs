//! The pages, with one file for each kind, and the answers that parts of a page fetch.

mod ask;
mod assets;
mod checked;
mod entrance;
mod field_at;
mod file;
mod files;
mod first;
mod frame;
mod held;
mod made;
mod result;
mod running;
mod runs;
mod tools;
mod typing;
mod windings;

use super::beside::{IS_USED, NEW_TOKEN};
use super::state::State;
use axum::Router;
use axum::routing::{get, post, put};
use frame::{Shared, missing};
use std::sync::Arc;

/// All addresses of the desk.
pub fn routes() -> Router<Arc<State>> {
    Router::new()
        .route("/", get(files::page))
        .route("/open", get(entrance::enter))
        .route(NEW_TOKEN, post(entrance::token))
        .route(IS_USED, post(entrance::used))
        .route("/ask/{question}", get(ask::page))
        .route("/file/{name}", get(file::page))
        .route("/first", get(first::page))
        .route("/bytes/{name}", get(file::bytes))
        .route("/kept/{name}", get(made::kept))
        .route("/result/{run}", get(result::page))
        .route("/files.zip", get(made::pack))
        .route("/made/{run}/{name}", get(made::file))
        .route("/made/{run}", get(made::archive))
        .route("/told/{run}", get(result::progress))
        .route("/assets/{name}", get(assets::asset))
        .route("/do/ask/{question}", post(ask::ask))
        .route("/do/tools/{question}", post(ask::tools))
        .route("/earlier/{name}/{time}", get(file::earlier))
        .route("/do/restore/{name}/{time}", post(file::restore))
        .route("/do/run/{run}", get(result::fragment))
        .route("/do/stop/{run}", post(result::stop))
        .route("/do/held", post(held::part))
        .route("/do/runs", get(runs::part))
        .route("/do/running", get(running::part))
        .route("/do/keep/{run}/{name}", post(made::keep))
        .route("/do/file/{name}", put(file::save))
        .route("/do/typed/{name}", post(typing::typed))
        .route("/do/at/{name}", get(field_at::part).post(field_at::told))
        .route("/do/winding/{run}/{number}", get(windings::part))
        .route("/do/first", post(first::make))
        .route("/do/first/so-far", post(first::so_far))
        .route("/do/new", post(files::new))
        .route("/do/copy/{name}", post(files::copy))
        .route("/do/menu-entry", post(files::menu_entry))
        .route("/do/quit", post(entrance::quit))
        .fallback(async |state: Shared| missing(&state, "There is no such page."))
}
