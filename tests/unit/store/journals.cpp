// Every journal keeps the same promises: one set of tests on all of them.
#include <map>
#include <memory>
#include <type_traits>

#include "store/memory_journal.hpp"
#include "store_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

// A journal under test: how to make it, to let it settle, and to look at what it kept.
class Subject {
  public:
    virtual ~Subject() = default;
    virtual Journal& journal() = 0;
    virtual void settle() = 0;
    virtual std::vector<JournalRecord> records(SessionId session) = 0;
    virtual std::vector<RepResult> reps(SessionId session) = 0;
    virtual std::optional<SessionTotals> totals(SessionId session) = 0;
};

class InMemory final : public Subject {
  public:
    Journal& journal() override { return journal_; }
    void settle() override {}
    std::vector<JournalRecord> records(SessionId session) override { return kept(session).records; }
    std::vector<RepResult> reps(SessionId session) override {
        std::vector<RepResult> reps;
        for (const auto& [id, rep] : kept(session).reps) reps.push_back(rep);
        return reps;
    }
    std::optional<SessionTotals> totals(SessionId session) override { return kept(session).totals; }

  private:
    MemoryJournal::Session kept(SessionId session) {
        const auto found = journal_.sessions().find(session);
        return found == journal_.sessions().end() ? MemoryJournal::Session{} : found->second;
    }
    MemoryJournal journal_;
};

class InStore final : public Subject {
  public:
    explicit InStore(StoreOptions options) : store_(open_store(folder_ / "a.store", std::move(options))) {}
    Journal& journal() override { return *store_; }
    void settle() override { REQUIRE(store_->flush().has_value()); }
    std::vector<JournalRecord> records(SessionId session) override { return stored_records(*store_, session); }
    std::vector<RepResult> reps(SessionId session) override { return store_->reps(session).value(); }
    std::optional<SessionTotals> totals(SessionId session) override { return store_->totals(session).value(); }

  private:
    TemporaryFolder folder_;
    std::unique_ptr<Store> store_;
};

template <class Test>
void on_every_journal(Test&& test) {
    const std::map<std::string, std::function<std::unique_ptr<Subject>()>> kinds{
        {"in memory", [] { return std::make_unique<InMemory>(); }},
        {"store with a thread", [] { return std::make_unique<InStore>(StoreOptions{}); }},
        {"store inline", [] { return std::make_unique<InStore>(inline_options()); }},
        {"store inline, in groups of 7", [] { return std::make_unique<InStore>(inline_options(7)); }}};
    for (const auto& [name, make] : kinds) {
        SUBCASE(name.c_str()) { test(*make()); }
    }
}

/// Every member, doubles to the bit.
std::string text_of(const std::optional<SessionTotals>& totals) {
    if (!totals) return "none";
    std::string text;
    const auto tell = [&text](const auto& value) {
        using Value = std::remove_cvref_t<decltype(value)>;
        if constexpr (std::is_same_v<Value, std::string>) {
            text += value;
        } else if constexpr (std::is_same_v<Value, Sign>) {
            text += word(value);
        } else {
            char bytes[64];
            std::snprintf(bytes, sizeof(bytes), "%a", static_cast<double>(value));
            text += bytes;
        }
    };
    fields(*totals, [&](std::string_view name, const auto& value) {
        text.append(name).append(" ");
        if constexpr (std::is_same_v<std::remove_cvref_t<decltype(value)>, std::optional<double>>) {
            if (value) tell(*value);
        } else {
            tell(value);
        }
        text += '\n';
    });
    return text;
}

constexpr SessionId one_evening{0x8000'0000'0000'0001}, other{2};

}  // namespace

TEST_CASE("a journal gives back the records it was given, in order and to the byte") {
    on_every_journal([](Subject& subject) {
        const std::vector<JournalRecord> records = some_records(one_evening, 500, true);
        for (std::size_t i = 0; i < records.size();) {
            const std::size_t size = std::min<std::size_t>(1 + i % 5, records.size() - i);
            subject.journal().append(one_evening, std::span(records).subspan(i, size));
            i += size;
        }
        subject.settle();
        CHECK(subject.journal().committed(one_evening) == 499);
        CHECK(bytes_of(subject.records(one_evening)) == bytes_of(records));
        CHECK_FALSE(subject.journal().failure().has_value());
    });
}

TEST_CASE("a session the journal has never seen has nothing committed") {
    on_every_journal([](Subject& subject) { CHECK(subject.journal().committed(other) == -1); });
}

TEST_CASE("sessions in one journal do not mix") {
    on_every_journal([](Subject& subject) {
        const auto first = some_records(one_evening, 40, false, 1), second = some_records(other, 30, false, 2);
        for (std::size_t i = 0; i < 40; ++i) {
            subject.journal().append(one_evening, std::span(first).subspan(i, 1));
            if (i < 30) subject.journal().append(other, std::span(second).subspan(i, 1));
        }
        subject.settle();
        CHECK(bytes_of(subject.records(one_evening)) == bytes_of(first));
        CHECK(bytes_of(subject.records(other)) == bytes_of(second));
        CHECK(subject.journal().committed(one_evening) == 39);
        CHECK(subject.journal().committed(other) == 29);
    });
}

TEST_CASE("a later result of the same rep replaces it, and every member of a result comes back") {
    on_every_journal([](Subject& subject) {
        const auto records = some_records(one_evening, 3);
        subject.journal().append(one_evening, records);
        const RepResult empty_first{};
        RepResult again = full_rep(RepId{0});
        subject.journal().keep(one_evening, empty_first);
        subject.journal().keep(one_evening, full_rep(RepId{1}));
        subject.journal().keep(one_evening, again);
        RepResult plain;
        plain.rep = RepId{2};
        subject.journal().keep(one_evening, plain);
        subject.settle();
        const std::vector<RepResult> reps = subject.reps(one_evening);
        REQUIRE(reps.size() == 3);
        CHECK(reps[0] == again);
        CHECK(reps[1] == full_rep(RepId{1}));
        CHECK(reps[2] == plain);
    });
}

TEST_CASE("totals come back to the last bit, the newest ones") {
    on_every_journal([](Subject& subject) {
        subject.journal().append(one_evening, some_records(one_evening, 1));
        subject.settle();
        CHECK_FALSE(subject.totals(one_evening).has_value());
        subject.journal().keep_totals(one_evening, full_totals(3));
        subject.journal().keep_totals(one_evening, full_totals(5));
        subject.journal().append(other, some_records(other, 1));
        subject.journal().keep_totals(other, SessionTotals{});
        subject.settle();
        CHECK(text_of(subject.totals(one_evening)) == text_of(full_totals(5)));
        CHECK(subject.totals(one_evening) == full_totals(5));
        CHECK(text_of(subject.totals(other)) == text_of(SessionTotals{}));
    });
}

TEST_CASE("a hole in the positions is refused and told, and what came before it stays") {
    on_every_journal([](Subject& subject) {
        auto records = some_records(one_evening, 10);
        subject.journal().append(one_evening, std::span(records).first(4));
        subject.journal().append(one_evening, std::span(records).subspan(5, 2));
        subject.journal().append(one_evening, std::span(records).subspan(4, 1));
        subject.settle();
        CHECK(subject.journal().committed(one_evening) == 3);
        CHECK(subject.records(one_evening).size() == 4);
        REQUIRE(subject.journal().failure().has_value());
        CHECK(subject.journal().failure()->kind == ErrorKind::system);
    });
}
