#include "scenarios/desk/hall.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <openssl/ssl.h>
#include <openssl/x509.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <chrono>
#include <future>
#include <stdexcept>

#include "desk/guard/phones.hpp"

namespace breakstep::tests {

using namespace std::chrono_literals;

// ---- the hall -------------------------------------------------------------------------------------------------------

DeskHall::DeskHall(bool hall) : hall_(hall), view_(std::make_shared<EveningView>()) {
    std::string name = (std::filesystem::temp_directory_path() / "breakstep-desk-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder can be made");
    folder_ = name;
    view_->number = 1;
    view_->people.push_back({AthleteId{7}, "Heron", "drop", 0, 2});
    open(0);
}

DeskHall::~DeskHall() {
    server_.reset();
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
}

desk::DeskHouse DeskHall::house() {
    desk::DeskHouse house;
    house.club = "Saltmarsh <b>Hall</b>";
    house.drills = {{"drop", "The <i>drop</i>"}};
    house.view = [this]() -> std::shared_ptr<const EveningView> {
        const std::lock_guard lock(lock_);
        return view_;
    };
    house.reps_since = [this](std::uint64_t number) {
        const std::lock_guard lock(lock_);
        const auto from = std::min<std::size_t>(number, reps_.size());
        return std::vector<RepSeen>(reps_.begin() + static_cast<std::ptrdiff_t>(from), reps_.end());
    };
    house.ask = [this](evening::Request request, const std::function<void(const evening::Answer&)>& told) {
        {
            const std::lock_guard lock(lock_);
            asked_.push_back(std::move(request));
        }
        told({evening::AnswerKind::taken, evening::Why::none});
    };
    house.comes = [](const std::string& name, bool, const std::function<void(std::string)>& told) {
        told("Nobody is called " + name + ". A new athlete?");
    };
    house.check_drill = [](const std::string& text) -> Expected<std::string> { return "checked: " + text; };
    return house;
}

void DeskHall::open(std::uint16_t port) {
    desk::ServerOptions options;
    options.port = port;
    options.hall = hall_;
    options.folder = folder_ / "e.db.desk";
    auto opened = desk::DeskServer::open(house(), options);
    if (!opened) throw std::runtime_error(opened.error().text());
    server_ = std::move(*opened);
    server_->start();
}

void DeskHall::restart() {
    const std::uint16_t before = port();
    server_.reset();
    open(before);
}

std::string DeskHall::digits() { return digits_of(*server_); }

void DeskHall::publish(RepSeen rep) {
    const std::lock_guard lock(lock_);
    rep.number = reps_.size() + 1;
    reps_.push_back(std::move(rep));
    auto next = std::make_shared<EveningView>(*view_);
    ++next->number;
    view_ = std::move(next);
}

std::size_t DeskHall::asked() const {
    const std::lock_guard lock(lock_);
    return asked_.size();
}

std::vector<std::string> DeskHall::notes() const {
    const std::lock_guard lock(lock_);
    std::vector<std::string> all;
    for (const evening::Request& each : asked_) all.push_back(each.text);
    return all;
}

// ---- a client -------------------------------------------------------------------------------------------------------

struct Client::Secure {
    SSL_CTX* context = SSL_CTX_new(TLS_client_method());
    SSL* line = SSL_new(context);
    ~Secure() {
        SSL_free(line);
        SSL_CTX_free(context);
    }
};

Client::Client(std::uint16_t port, bool tls) : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in where{};
    where.sin_family = AF_INET;
    where.sin_port = htons(port);
    where.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    const timeval patience{10, 0};
    ::setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    ::setsockopt(socket_, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
    open_ = ::connect(socket_, reinterpret_cast<const sockaddr*>(&where), sizeof where) == 0;
    if (!tls || !open_) return;
    secure_ = std::make_unique<Secure>();
    SSL_set_fd(secure_->line, socket_);
    open_ = SSL_connect(secure_->line) == 1;
}

Client::~Client() {
    secure_.reset();
    if (socket_ >= 0) ::close(socket_);
}

bool Client::send(const std::string& bytes) {
    std::size_t sent = 0;
    while (open_ && sent < bytes.size()) {
        const auto count =
            secure_ ? static_cast<long>(
                          SSL_write(secure_->line, bytes.data() + sent, static_cast<int>(bytes.size() - sent)))
                    : static_cast<long>(::send(socket_, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL));
        if (count <= 0) return false;
        sent += static_cast<std::size_t>(count);
    }
    return open_;
}

long Client::read(char* to, std::size_t most, std::chrono::milliseconds patience) {
    if (!secure_ || SSL_pending(secure_->line) == 0) {
        pollfd in{socket_, POLLIN, 0};
        if (::poll(&in, 1, static_cast<int>(patience.count())) <= 0) return -1;
    }
    const auto count = secure_ ? static_cast<long>(SSL_read(secure_->line, to, static_cast<int>(most)))
                               : static_cast<long>(::recv(socket_, to, most, 0));
    return std::max(0L, count);
}

std::string Client::bytes(std::size_t enough) {
    const auto until = std::chrono::steady_clock::now() + 5s;
    std::array<char, 16384> some{};
    while (rest_.size() < enough && std::chrono::steady_clock::now() < until) {
        const long count = read(some.data(), some.size(), 200ms);
        if (count == 0) break;
        if (count > 0) rest_.append(some.data(), static_cast<std::size_t>(count));
    }
    return rest_;
}

std::string Client::more() {
    std::string all = std::exchange(rest_, {});
    std::array<char, 16384> some{};
    const long count = read(some.data(), some.size(), 100ms);
    if (count > 0) all.append(some.data(), static_cast<std::size_t>(count));
    return all;
}

bool Client::is_closed_within(std::chrono::milliseconds time) {
    const auto until = std::chrono::steady_clock::now() + time;
    std::array<char, 4096> some{};
    while (std::chrono::steady_clock::now() < until)
        if (read(some.data(), some.size(), 100ms) == 0) return true;
    return false;
}

Reply Client::reply() {
    Reply reply;
    std::size_t end = std::string::npos;
    for (std::size_t want = 1; (end = rest_.find("\r\n\r\n")) == std::string::npos; want = rest_.size() + 1)
        if (bytes(want).size() < want) return reply;
    std::string head = rest_.substr(0, end + 2);
    rest_.erase(0, end + 4);
    if (!head.starts_with("HTTP/1.1 ")) return reply;
    reply.status = std::atoi(head.c_str() + 9);
    for (std::size_t at = head.find("\r\n") + 2; at < head.size();) {
        const std::size_t line_end = head.find("\r\n", at);
        const std::string line = head.substr(at, line_end - at);
        at = line_end + 2;
        std::string name = line.substr(0, line.find(':'));
        std::transform(name.begin(), name.end(), name.begin(), [](unsigned char c) { return std::tolower(c); });
        if (line.size() > name.size() + 2) reply.headers[name] = line.substr(name.size() + 2);
    }
    const auto length = reply.headers.find("content-length");
    const std::size_t size = length == reply.headers.end() ? 0 : std::stoul(length->second);
    if (bytes(size).size() < size) return {};
    reply.body = rest_.substr(0, size);
    rest_.erase(0, size);
    return reply;
}

std::string Client::fingerprint() const {
    if (!secure_) return "";
    X509* certificate = SSL_get_peer_certificate(secure_->line);
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned int size = 0;
    X509_digest(certificate, EVP_sha256(), digest.data(), &size);
    X509_free(certificate);
    std::string text;
    for (unsigned int i = 0; i < size; ++i) {
        constexpr const char* digits = "0123456789ABCDEF";
        if (i > 0) text += ':';
        text += digits[digest[i] >> 4U];
        text += digits[digest[i] & 15U];
    }
    return text;
}

// ---- what is said ---------------------------------------------------------------------------------------------------

std::string get(const std::string& host, const std::string& target, const std::string& more) {
    std::string text = "GET ";
    return text + target + " HTTP/1.1\r\nHost: " + host + "\r\n" + more + "\r\n";
}

std::string post(const std::string& host, const std::string& target, const std::string& body, const std::string& more,
                 const std::string& type) {
    std::string text = "POST ";
    return text + target + " HTTP/1.1\r\nHost: " + host + "\r\nContent-Type: " + type +
           "\r\nContent-Length: " + std::to_string(body.size()) + "\r\n" + more + "\r\n" + body;
}

std::string Paired::headers(const std::string& host, bool tls) const {
    return cookie + token + "Origin: " + (tls ? "https://" : "http://") + host + "\r\n";
}

std::string digits_of(desk::DeskServer& server) {
    std::promise<std::string> told;
    auto lines = told.get_future();
    server.new_digits([&](const std::string& said) { told.set_value(said); }, false);
    const std::string said = lines.get(), words = "ten minutes: ";
    const auto at = said.find(words);
    if (at == std::string::npos) return "";
    return said.substr(at + words.size(), 3) + said.substr(at + words.size() + 4, 3);
}

Paired pair(desk::DeskServer& server, const std::string& role, bool tls) {
    const std::string digits = digits_of(server), scheme = tls ? "https://" : "http://";
    const std::string host = "127.0.0.1:" + std::to_string(server.port());
    Client client(server.port(), tls);
    client.send(post(host, "/pair", "code=" + digits + "&role=" + role, "Origin: " + scheme + host + "\r\n",
                     "application/x-www-form-urlencoded"));
    const Reply reply = client.reply();
    const auto cookie = reply.headers.find("set-cookie");
    if (cookie == reply.headers.end()) return {};
    const std::string value = cookie->second.substr(0, cookie->second.find(';'));
    return {"Cookie: " + value + "\r\n",
            "X-Desk-Token: " + desk::form_token(value.substr(value.find('=') + 1)) + "\r\n"};
}

Paired pair(DeskHall& hall, const std::string& role, bool tls) { return pair(hall.server(), role, tls); }

std::string frame(const std::string& payload, unsigned char first, bool masked) {
    std::string text(1, static_cast<char>(first));
    const unsigned char mask = masked ? 0x80 : 0;
    if (payload.size() < 126) {
        text += static_cast<char>(mask | payload.size());
    } else {
        text += static_cast<char>(mask | 126U);
        text += static_cast<char>(payload.size() >> 8U);
        text += static_cast<char>(payload.size() & 255U);
    }
    constexpr std::array<unsigned char, 4> key{0x11, 0x22, 0x33, 0x44};
    if (masked) text.append(reinterpret_cast<const char*>(key.data()), key.size());
    for (std::size_t i = 0; i < payload.size(); ++i)
        text += masked ? static_cast<char>(static_cast<unsigned char>(payload[i]) ^ key[i % 4]) : payload[i];
    return text;
}

Reply open_line(Client& client, const std::string& host, const Paired& who, const std::string& from,
                const std::string& origin) {
    client.send(get(host, "/live" + from,
                    "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
                    "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nOrigin: " +
                        (origin.empty() ? "http://" + host : origin) + "\r\n" + who.cookie));
    return client.reply();
}

}  // namespace breakstep::tests
