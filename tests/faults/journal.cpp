// faults_journal STORE: every record of a store's sessions as JSON lines, so that a test in another language can look
// into a journal without knowing its bytes: {"session", "position", "recorded_ns", "event", "fields": [...]}. Fields
// stand in the order of their declaration; times of the rig are [boot, ns].
//
// A test's tool, no command of the program. Ends with 1 and a sentence on stderr if the store can't be read.
#include <iostream>
#include <nlohmann/json.hpp>
#include <type_traits>
#include <variant>

#include "core/journal/events.hpp"
#include "store/store.hpp"

using namespace breakstep;

namespace {

using Json = nlohmann::ordered_json;

/// What fields() calls: collects each value as JSON.
class ToJson {
  public:
    template <class... Fields>
    void operator()(Fields&... fields) {
        (list_.push_back(json_of(fields)), ...);
    }
    /// Members of later versions stand behind the first ones.
    template <class... Fields>
    void added(Fields&... fields) {
        (*this)(fields...);
    }
    [[nodiscard]] Json taken() { return std::move(list_); }

  private:
    template <class T>
    static Json json_of(T& value) {
        using Value = std::remove_const_t<T>;
        if constexpr (std::is_enum_v<Value>) {
            return static_cast<std::underlying_type_t<Value>>(value);
        } else if constexpr (std::is_same_v<Value, Duration>) {
            return value.count();
        } else if constexpr (std::is_same_v<Value, HostTime>) {
            return value.time_since_epoch().count();
        } else if constexpr (std::is_same_v<Value, TargetTime>) {
            return Json::array({static_cast<std::uint32_t>(value.boot()), value.since_boot().count()});
        } else if constexpr (std::is_arithmetic_v<Value> || std::is_same_v<Value, std::string>) {
            return value;
        } else if constexpr (requires { value.begin(); }) {
            Json list = Json::array();
            for (auto& each : value) list.push_back(json_of(each));
            return list;
        } else {
            ToJson inside;
            value.fields(inside);
            return inside.taken();
        }
    }

    Json list_ = Json::array();
};

Json fields_of(const JournalEvent& event) {
    ToJson fields;
    std::visit(
        [&](auto one) {
            if constexpr (!std::is_same_v<decltype(one), UnknownEvent>) one.fields(fields);
        },
        event);
    return fields.taken();
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 2) {
        std::cerr << "usage: faults_journal STORE\n";
        return 2;
    }
    StoreOptions options;
    options.mode = StoreMode::read_only;
    const auto store = Store::open(argv[1], options);
    const auto sessions = store ? (*store)->sessions() : tl::make_unexpected(store.error());
    if (!sessions) {
        std::cerr << sessions.error().text() << '\n';
        return 1;
    }
    for (const SessionSummary& session : *sessions) {
        const auto read = (*store)->read_records(session.id, [&](const JournalRecord& record) {
            Json line;
            line["session"] = static_cast<std::uint64_t>(session.id);
            line["position"] = record.position;
            line["recorded_ns"] = record.recorded.time_since_epoch().count();
            line["event"] = name_of(record.event);
            line["fields"] = fields_of(record.event);
            std::cout << line.dump() << '\n';
        });
        if (!read) {
            std::cerr << read.error().text() << '\n';
            return 1;
        }
    }
    return 0;
}
