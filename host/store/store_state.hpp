// What a Store is made of. Internal to host/store: store.cpp and athletes.cpp share it.
#pragma once

#include <filesystem>
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

}  // namespace breakstep
