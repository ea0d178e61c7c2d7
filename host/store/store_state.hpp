// What a Store is made of. Internal to host/store: store.cpp, athletes.cpp and backup.cpp share it.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <utility>

#include "store/reader.hpp"
#include "store/store.hpp"
#include "store/store_lock.hpp"
#include "store/writer.hpp"

namespace breakstep {

struct Store::State {
    explicit State(std::filesystem::path where) : path(std::move(where)), reader(path) {}

    std::filesystem::path path;
    StoreLock lock;
    std::unique_ptr<Writer> writer;  ///< none in read_only mode
    /// Goes before the writer, whose connection then is the last one and brings the write-ahead log home.
    mutable Reader reader;
    StoreCounters counters_of_reader;
};

/// Runs `work`, which may refuse, on the writer's connection in a transaction that is committed if it did not. Fails
/// (system) for a store that was opened for reading only.
[[nodiscard]] Expected<void> in_transaction(Store::State& state,
                                            const std::function<Expected<void>(SQLite::Database&)>& work);

}  // namespace breakstep
