#include "club/sharing/contact.hpp"

#include <algorithm>
#include <map>
#include <thread>

#include "club/sharing/server_schema.hpp"
#include "club/sharing/values.hpp"
#include "store/call_sign.hpp"
#include "store/consent.hpp"

namespace breakstep::sharing {
namespace {

using Clock = std::chrono::steady_clock;

constexpr std::int64_t clocks_apart_max_ms = 86'400'000;

std::int64_t here_unix_ms() {
    return std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::system_clock::now().time_since_epoch())
        .count();
}

Error clocks_apart(const std::string& shown, std::int64_t apart_ms) {
    // To the nearest: a year is 365 days, whatever the second.
    const std::int64_t days = (std::abs(apart_ms) + 43'200'000) / 86'400'000;
    return {
        ErrorKind::system,
        "the clock of this computer is " + std::to_string(days) + (days == 1 ? " day" : " days") +
            (apart_ms > 0 ? " ahead of" : " behind") + " that of the server " + shown,
        "set the clock that is wrong, then try again: whose change of an athlete is the last one, and whose consent "
        "holds, is told by dates. Nothing was sent, and nothing is lost"};
}

}  // namespace

Expected<Contact> begin_contact(Connection connection) {
    if (const auto checked = check_server(connection); !checked) return tl::make_unexpected(checked.error());
    Contact contact{std::move(connection), 0, 0, {}, {}, {}};
    const auto hello = contact.connection.run(
        "SELECT breakstep.my_club(), breakstep.i_may(), (extract(epoch FROM clock_timestamp()) * 1000)::bigint");
    if (!hello) return tl::make_unexpected(hello.error());
    if (hello->is_null(0, 0) || hello->text(0, 1) != "club")
        return failure(
            ErrorKind::system,
            "the login that was used on the server " + contact.connection.shown() + " is not a laptop's of a club",
            "`breakstep club-server URL --club NAME --login LOGIN`, by whoever runs the server, makes one");
    contact.club = hello->number(0, 0);
    contact.server_unix_ms = hello->number(0, 2);
    const std::int64_t apart = here_unix_ms() - contact.server_unix_ms;
    if (std::abs(apart) > clocks_apart_max_ms)
        return tl::make_unexpected(clocks_apart(contact.connection.shown(), apart));
    return contact;
}

Expected<void> with_patience(
    const ServerUrl& url, std::chrono::milliseconds patience,
    const std::function<Expected<void>(Contact&, const std::function<void()>& progress)>& work) {
    auto last_progress = Clock::now();
    bool connected_once = false;
    auto pause = std::chrono::milliseconds(50);
    for (;;) {
        Error why{ErrorKind::system, "", ""};
        bool again = true;
        if (auto connection = Connection::open(url); !connection) {
            why = connection.error();
            again = why.what.find("can't be reached (") != std::string::npos;
        } else if (auto contact = begin_contact(std::move(*connection)); !contact) {
            why = contact.error();
            again = why.what.find("was cut") != std::string::npos;
        } else {
            connected_once = true;
            const Expected<void> done = work(*contact, [&] {
                last_progress = Clock::now();
                pause = std::chrono::milliseconds(50);
            });
            if (done) return {};
            why = done.error();
            again = contact->connection.is_lost() || contact->connection.may_try_again();
        }
        const auto limit = connected_once ? patience : patience / 10;
        if (!again || Clock::now() - last_progress + pause > limit) return tl::make_unexpected(why);
        std::this_thread::sleep_for(pause);
        pause = std::min(pause * 2, std::chrono::milliseconds(2000));
    }
}

}  // namespace breakstep::sharing
