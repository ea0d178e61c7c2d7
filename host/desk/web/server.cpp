#include <utility>

#include "desk/web/connection.hpp"

#include <sys/socket.h>

#include <algorithm>
#include <chrono>
#include <future>

#include "desk/guard/secrets.hpp"
#include "desk/pages/qr.hpp"
#include "desk/web/addresses.hpp"
#include "desk/web/certificate.hpp"
#include "desk/web/server_state.hpp"
#include "files/new_file.hpp"
#include "files/reading.hpp"

namespace breakstep::desk {
namespace {

using tcp = net::ip::tcp;

constexpr int connections_max = 64, connections_of_one_max = 24;
constexpr auto tick_every = std::chrono::milliseconds(20);
constexpr const char* phones_file = "phones";

DeskTime steady_now() {
    return std::chrono::duration_cast<DeskTime>(std::chrono::steady_clock::now().time_since_epoch());
}
std::int64_t unix_now_seconds() {
    return std::chrono::duration_cast<std::chrono::seconds>(std::chrono::system_clock::now().time_since_epoch())
        .count();
}

tl::unexpected<Error> no_port(std::uint16_t port, const boost::system::error_code& problem) {
    const bool taken = problem == net::error::address_in_use;
    return failure(taken ? ErrorKind::in_use : ErrorKind::system,
                   "the desk can't stand at port " + std::to_string(port) + ": " + problem.message(),
                   taken ? "end the other desk, or name another port with --port" : "name another port with --port");
}

}  // namespace

DeskServer::State::State(DeskHouse given, const ServerOptions& wanted) : house(std::move(given)), options(wanted) {
    desk.emplace(house, DeskClocks{steady_now, unix_now_seconds});
    desk->on_phones = [this](const Phones& phones) { keep_phones(phones); };
    desk->on_notice = [this](const std::string& line) {
        if (on_notice) on_notice(line);
    };
}

Expected<void> DeskServer::State::use_certificate(const std::vector<std::string>& addresses) {
    const auto certificate = certificate_in(options.folder, addresses);
    if (!certificate) return tl::make_unexpected(certificate.error());
    boost::system::error_code problem;
    tls.set_options(net::ssl::context::default_workarounds | net::ssl::context::no_tlsv1 |
                    net::ssl::context::no_tlsv1_1 | net::ssl::context::no_compression);
    tls.use_certificate(net::buffer(certificate->certificate_pem), net::ssl::context::pem, problem);
    if (!problem) tls.use_private_key(net::buffer(certificate->key_pem), net::ssl::context::pem, problem);
    if (problem)
        return failure(ErrorKind::system, "the desk's certificate can't be used: " + problem.message(),
                       "remove the folder " + options.folder.string());
    DeskPlace place = desk->place();
    place.fingerprint = certificate->fingerprint;
    desk->stand_at(std::move(place));
    return {};
}

Expected<void> DeskServer::State::listen() {
    const tcp::endpoint where(
        options.hall ? net::ip::address(net::ip::address_v4::any()) : net::ip::address(net::ip::address_v4::loopback()),
        options.port);
    boost::system::error_code problem;
    acceptor.open(where.protocol(), problem);
    if (!problem) acceptor.set_option(net::socket_base::reuse_address(true), problem);
    if (!problem) acceptor.bind(where, problem);
    if (!problem) acceptor.listen(net::socket_base::max_listen_connections, problem);
    if (problem) return no_port(options.port, problem);
    const std::string port = ":" + std::to_string(acceptor.local_endpoint().port());
    std::vector<std::string> addresses;
    if (options.hall) addresses = own_addresses();
    if (options.hall && addresses.empty())
        return failure(ErrorKind::not_found, "this computer is in no network",
                       "open its own hotspot first, or leave --hall away");
    const std::string front = addresses.empty() ? "127.0.0.1" : addresses.front();
    addresses.emplace_back("127.0.0.1");
    DeskPlace place;
    place.hall = options.hall;
    for (const std::string& each : addresses) place.hosts.push_back(each + port);
    place.hosts.push_back("localhost" + port);
    place.address = (options.hall ? "https://" : "http://") + front + port + "/";
    desk->stand_at(std::move(place));
    return options.hall ? use_certificate(addresses) : Expected<void>{};
}

// ---- who is paired ----------------------------------------------------------------------------------------------

void DeskServer::State::read_phones() {
    if (options.folder.empty()) return;
    constexpr std::size_t longest = 8 * 1024;
    const auto text = files::read_whole(options.folder / phones_file, longest);
    if (!text) return;  // nobody was paired before
    // One that is none lets nobody in; phones pair again.
    if (const auto read = desk->phones().read(*text, unix_now_seconds()); !read && on_notice)
        on_notice(read.error().text());
}

void DeskServer::State::keep_phones(const Phones& phones) {
    if (options.folder.empty()) return;
    auto kept = files::make_folder(options.folder);
    if (kept) kept = files::write_whole(options.folder / phones_file, phones.written(), files::Existing::replace);
    if (!kept && on_notice) on_notice(kept.error().text());
}

// ---- connections ------------------------------------------------------------------------------------------------

Slot DeskServer::State::slot_for(const std::string& address) {
    if (open >= connections_max || from[address] >= connections_of_one_max) return nullptr;
    ++open;
    ++from[address];
    return {this, [self = weak_from_this(), address](void*) {
                const auto state = self.lock();
                if (!state) return;
                --state->open;
                if (--state->from[address] == 0) state->from.erase(address);
            }};
}

void DeskServer::State::accept() {
    acceptor.async_accept([self = shared_from_this()](boost::system::error_code problem, tcp::socket socket) {
        if (self->ended || problem == net::error::operation_aborted) return;
        if (!problem) self->welcome(std::move(socket));
        self->accept();
    });
}

void DeskServer::State::welcome(tcp::socket socket) {
    boost::system::error_code problem;
    const auto peer = socket.remote_endpoint(problem);
    if (problem) return;
    ++counters.connections;
    Slot slot = slot_for(peer.address().to_string());
    if (!slot) {
        ++counters.connections_refused;
        return;
    }
    socket.set_option(tcp::no_delay(true), problem);
    const bool from_here = peer.address().is_loopback();
    std::erase_if(connections, [](const auto& each) { return each.expired(); });
    if (options.hall) {
        const auto one = std::make_shared<Connection<Tls>>(shared_from_this(), std::move(slot),
                                                           Tls(beast::tcp_stream(std::move(socket)), tls), from_here);
        connections.push_back(one);
        return one->begin();
    }
    const auto one =
        std::make_shared<Connection<Plain>>(shared_from_this(), std::move(slot), Plain(std::move(socket)), from_here);
    connections.push_back(one);
    one->begin();
}

void DeskServer::State::watch(const std::shared_ptr<Watching>& line) {
    lines.push_back(line);
    if (ticking) return;
    ticking = true;
    tick();
}

// The views are looked at while somebody looks on.
void DeskServer::State::tick() {
    std::erase_if(lines, [](const auto& each) { return each.expired(); });
    if (lines.empty() || ended) {
        ticking = false;
        return;
    }
    if (desk->feed().refresh())
        for (const auto& each : std::vector(lines))
            if (const auto line = each.lock()) line->more();
    timer.expires_after(tick_every);
    timer.async_wait([self = shared_from_this()](boost::system::error_code problem) {
        if (!problem) self->tick();
    });
}

std::string DeskServer::State::digits_told(bool qr) {
    const auto digits = desk->new_digits();
    if (!digits) return "Five wrong tries: no new digits for a minute.";
    const DeskPlace& place = desk->place();
    std::string told;
    if (qr)
        if (const auto picture = qr_lines(place.address)) told += *picture;
    told += "The desk: " + place.address + "\n";
    if (!place.fingerprint.empty()) told += "Its certificate (SHA-256): " + place.fingerprint + "\n";
    return told + "Digits for one phone, good once, for ten minutes: " + digits->substr(0, 3) + " " + digits->substr(3);
}

// ---- the server -------------------------------------------------------------------------------------------------

DeskServer::DeskServer(std::shared_ptr<State> state) : state_(std::move(state)) {}

Expected<std::unique_ptr<DeskServer>> DeskServer::open(DeskHouse house, const ServerOptions& options) {
    if (!secrets_are_ready()) return failure(ErrorKind::system, "this computer gives no randomness", "start it again");
    auto state = std::make_shared<State>(std::move(house), options);
    if (const auto listening = state->listen(); !listening) return tl::make_unexpected(listening.error());
    return std::unique_ptr<DeskServer>(new DeskServer(std::move(state)));
}

void DeskServer::start() {
    state_->on_notice = on_notice;
    state_->read_phones();
    state_->accept();
    state_->thread = std::thread([state = state_] { state->context.run(); });
}

DeskServer::~DeskServer() {
    if (!state_->thread.joinable()) return;
    net::post(state_->context, [state = state_] {
        state->ended = true;
        boost::system::error_code ignored;
        state->acceptor.close(ignored);
        state->timer.cancel();
        for (auto* all : {&state->connections, &state->lines})
            for (const auto& each : *all)
                if (const auto one = each.lock()) one->end();
    });
    // What is under way ends by itself then, and the thread with it.
    state_->thread.join();
}

std::uint16_t DeskServer::port() const { return state_->acceptor.local_endpoint().port(); }
const DeskPlace& DeskServer::place() const { return state_->desk->place(); }

void DeskServer::new_digits(std::function<void(const std::string& lines)> told, bool qr) {
    net::post(state_->context, [state = state_, told = std::move(told), qr] { told(state->digits_told(qr)); });
}

void DeskServer::forget_phones() {
    net::post(state_->context, [state = state_] {
        state->desk->phones().forget_all();
        state->keep_phones(state->desk->phones());
    });
}

ServerCounters DeskServer::counters() const {
    std::promise<ServerCounters> counted;
    auto answer = counted.get_future();
    net::post(state_->context, [&] { counted.set_value(state_->counters); });
    return answer.get();
}

}  // namespace breakstep::desk
