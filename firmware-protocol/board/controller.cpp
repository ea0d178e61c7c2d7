#include "controller.hpp"

#include <algorithm>
#include <cstring>
#include <stdexcept>
#include <utility>

extern "C" {
#include <simavr/avr_adc.h>
#include <simavr/avr_eeprom.h>
#include <simavr/avr_extint.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_timer.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
}

namespace board {
namespace {

constexpr std::uint32_t supply_mv = 5000;
constexpr std::uint8_t lamps_shift = 1, lamps_mask = 0x0F;

struct Pin {
    char port;
    int number;
};
constexpr std::array<Pin, 8> pins{{{'B', 0}, {'D', 2}, {'D', 3}, {'D', 4}, {'D', 5}, {'D', 6}, {'C', 4}, {'C', 5}}};

Controller* owner_of_reset = nullptr;  // avr_t has no place for a pointer of ours; there is one controller

template <class Module>
Module* find_module(avr_t* avr, const char* kind, char name) {
    for (avr_io_t* io = avr->io_port; io != nullptr; io = io->next) {
        if (std::strcmp(io->kind, kind) != 0) continue;
        auto* const module = reinterpret_cast<Module*>(io);
        if (module->name == name) return module;
    }
    throw std::runtime_error(std::string("the simulated controller has no ") + kind);
}

void no_log(avr_t*, int, const char*, va_list) {}
void no_sleep(avr_t*, avr_cycle_count_t) {}

}  // namespace

struct Controller::Hooks {
    static Controller& of(void* param) { return *static_cast<Controller*>(param); }

    static avr_cycle_count_t timer(avr_t*, avr_cycle_count_t, void* param) {
        Controller& self = of(param);
        self.do_due();
        self.armed_for_ = self.next_stop();
        return self.armed_for_ == never ? 0 : self.armed_for_;
    }
    static void conversion(avr_irq_t*, std::uint32_t value, void* param) {
        Controller& self = of(param);
        union {
            avr_adc_mux_t mux;
            std::uint32_t bits;
        } chosen{};
        chosen.bits = value;
        const std::size_t channel = chosen.mux.src;
        if (chosen.mux.kind != ADC_MUX_SINGLE || channel >= pad_count) return;
        constexpr std::uint64_t hold = 24;  // 1.5 converter clocks of 16 cycles
        const std::uint32_t level = self.pads_[channel].level(self.avr_->cycle + hold, self.noise_);
        avr_raise_irq(self.adc_ + channel, (level * supply_mv + 1022) / 1023);
    }
    static void output(avr_irq_t*, std::uint32_t value, void* param) {
        Controller& self = of(param);
        // The sender keeps a byte in hand: it goes out when the one before has passed.
        const std::uint64_t begins = std::max<std::uint64_t>(self.avr_->cycle, self.line_out_free_);
        self.line_out_free_ = begins + cycles_per_byte;
        self.sent_.push_back({begins, static_cast<std::uint8_t>(value)});
        if (static_cast<std::uint8_t>(value) == 0) self.frame_ended_ = true;
    }
    static void port_b(avr_irq_t*, std::uint32_t value, void* param) {
        Controller& self = of(param);
        const auto lit = static_cast<std::uint8_t>((value >> lamps_shift) & lamps_mask);
        if (lit == self.lit_) return;
        self.lit_ = lit;
        self.lamps_.push_back({self.avr_->cycle, lit});
    }
    /// On silicon a flag register is cleared bit by bit, by writing ones; simavr forgets all pending interrupts of the
    /// timer.
    static void write_flags(avr_t* avr, avr_io_addr_t address, std::uint8_t value, void* param) {
        Controller& self = of(param);
        const std::array<avr_int_vector_t*, 4> vectors{&self.timer_->overflow, &self.timer_->icr,
                                                       &self.timer_->comp[AVR_TIMER_COMPA].interrupt,
                                                       &self.timer_->comp[AVR_TIMER_COMPB].interrupt};
        std::array<bool, 4> raised{};
        for (std::size_t i = 0; i < vectors.size(); ++i) raised[i] = avr_regbit_get(avr, vectors[i]->raised) != 0;
        self.flag_writer_(avr, address, value, self.timer_);
        for (std::size_t i = 0; i < vectors.size(); ++i) {
            const bool cleared = (value >> vectors[i]->raised.bit & 1) != 0;
            if (raised[i] && !cleared && vectors[i]->pending == 0) avr_raise_interrupt(avr, vectors[i]);
        }
    }
    static void on_reset(avr_t* avr) {
        Controller& self = *owner_of_reset;
        if (self.controller_reset_ != nullptr) self.controller_reset_(avr);
        self.timers_gone_ = true;
        self.clock_unknown_ = true;
        self.hung_ = false;
        self.reset_cycle_ = avr->cycle;
        if (!self.resetting_) self.cause_ = Cause::watchdog;
        self.hold_pins();
        if (self.lit_ != 0) {
            self.lit_ = 0;
            self.lamps_.push_back({avr->cycle, 0});
        }
    }
};

Controller::Controller(const std::string& firmware, std::uint64_t seed) : noise_(seed) {
    avr_global_logger_set(no_log);
    elf_firmware_t elf{};
    if (elf_read_firmware(firmware.c_str(), &elf) != 0)
        throw std::runtime_error("cannot read the firmware " + firmware);
    avr_ = avr_make_mcu_by_name("atmega328p");
    if (avr_ == nullptr) throw std::runtime_error("this simavr has no atmega328p");
    avr_init(avr_);
    elf.frequency = 16'000'000;
    elf.vcc = elf.avcc = elf.aref = supply_mv;
    avr_load_firmware(avr_, &elf);
    avr_->sleep = no_sleep;
    avr_->run_cycle_limit = 100;
    owner_of_reset = this;
    controller_reset_ = avr_->reset;
    avr_->reset = Hooks::on_reset;
    normal_run_ = avr_->run;
    avr_extint_set_strict_lvl_trig(avr_, 0, 0);
    avr_extint_set_strict_lvl_trig(avr_, 1, 0);

    uart_ = find_module<avr_uart_t>(avr_, "uart", '0');
    timer_ = find_module<avr_timer_t>(avr_, "timer", '1');
    auto& flag_register = avr_->io[AVR_DATA_TO_IO(timer_->overflow.raised.reg)].w;
    flag_writer_ = flag_register.c;
    flag_register = {this, Hooks::write_flags};
    std::uint32_t flags = 0;
    avr_ioctl(avr_, static_cast<std::uint32_t>(AVR_IOCTL_UART_SET_FLAGS('0')), &flags);
    avr_irq_register_notify(avr_io_getirq(avr_, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), Hooks::output, this);
    adc_ = avr_io_getirq(avr_, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0);
    avr_irq_register_notify(avr_io_getirq(avr_, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_OUT_TRIGGER), Hooks::conversion, this);
    avr_irq_register_notify(avr_io_getirq(avr_, AVR_IOCTL_IOPORT_GETIRQ('B'), IOPORT_IRQ_REG_PORT), Hooks::port_b,
                            this);
    apply_pins();
    hold_pins();
}

Controller::~Controller() { avr_terminate(avr_); }

std::uint64_t Controller::cycle() const { return avr_->cycle; }

std::uint64_t Controller::next_stop() const {
    const std::uint64_t stop = stop_ > avr_->cycle ? stop_ : never;
    return queue_.empty() ? stop : std::min(stop, queue_.begin()->first);
}

void Controller::at(std::uint64_t when, Action action) {
    queue_.emplace(when, std::move(action));
    if (!doing_ && when < armed_for_) arm();
}

void Controller::arm() {
    timers_gone_ = false;
    armed_for_ = next_stop();
    if (armed_for_ == never) return;
    const std::uint64_t now = avr_->cycle;
    avr_cycle_timer_register(avr_, armed_for_ > now ? armed_for_ - now : 1, Hooks::timer, this);
}

void Controller::do_due() {
    doing_ = true;
    while (!queue_.empty() && queue_.begin()->first <= avr_->cycle) {
        const Action action = std::move(queue_.begin()->second);
        queue_.erase(queue_.begin());
        action();
    }
    doing_ = false;
}

void Controller::apply_pins() {
    for (const char port : {'B', 'C', 'D'}) {
        avr_ioport_external_t external{};
        external.name = static_cast<unsigned char>(port) & 0x7FU;
        unsigned mask = 0, value = 0;
        for (std::size_t i = 0; i < pins.size(); ++i) {
            if (pins[i].port != port) continue;
            mask |= 1U << pins[i].number;
            value |= (inputs_[i] ? 1U : 0U) << pins[i].number;
        }
        external.mask = mask & 0xFFU;
        external.value = value & 0xFFU;
        avr_ioctl(avr_, static_cast<std::uint32_t>(AVR_IOCTL_IOPORT_SET_EXTERNAL(port)), &external);
    }
    for (std::size_t i = 0; i < pins.size(); ++i) {
        avr_raise_irq(
            avr_io_getirq(avr_, static_cast<std::uint32_t>(AVR_IOCTL_IOPORT_GETIRQ(pins[i].port)), pins[i].number),
            inputs_[i] ? 1 : 0);
    }
}

/* A reset clears simavr's input registers, and its signals, which have not changed, would not set them again. */
void Controller::hold_pins() {
    for (std::size_t i = 0; i < pins.size(); ++i) {
        const auto* const port = find_module<avr_ioport_t>(avr_, "port", pins[i].port);
        const auto bit = static_cast<std::uint8_t>(1U << pins[i].number);
        std::uint8_t& levels = avr_->data[port->r_pin];
        levels = static_cast<std::uint8_t>(inputs_[i] ? levels | bit : levels & ~bit);
    }
}

void Controller::pin(std::uint64_t when, Input input, bool high) {
    at(when, [this, input, high] {
        inputs_[static_cast<std::size_t>(input)] = high;
        // Before the clock runs the firmware has not set which edges count, and an input that is low then storms for
        // ever: the level is put on the pin once it does.
        if (!clock_unknown_) apply_pins();
    });
}

void Controller::rest(std::uint64_t when, std::size_t pad, double level) {
    at(when, [this, pad, level] { pads_[pad].rest = level; });
}

void Controller::noise(std::uint64_t when, std::size_t pad, std::uint32_t amplitude) {
    at(when, [this, pad, amplitude] { pads_[pad].noise = amplitude; });
}

void Controller::byte(std::uint64_t when, std::uint8_t value) {
    const std::uint64_t begins = std::max({when, line_free_, avr_->cycle});
    line_free_ = begins + cycles_per_byte;
    incoming_.emplace(line_free_, value);
    if (!offering_) {
        offering_ = true;
        at(begins, [this] { offer_byte(); });
    }
}

/* simavr raises the flag a whole byte time after a byte is handed to it. So it is handed over while it is on its way,
 * with the time that is left; but only once the one before was fetched, else simavr would count from the fetching. */
void Controller::offer_byte() {
    constexpr std::uint64_t look_again = 16;
    if (incoming_.empty()) {  // a reset emptied the line
        offering_ = false;
        return;
    }
    const auto next = incoming_.begin();
    const std::uint64_t now = avr_->cycle;
    if (uart_->input.read != uart_->input.write) {
        const auto passed = static_cast<std::size_t>(std::distance(incoming_.begin(), incoming_.upper_bound(now)));
        deepest_ = std::max(deepest_, 1 + passed);
        at(now + look_again, [this] { offer_byte(); });
        return;
    }
    uart_->cycles_per_byte = next->first > now ? next->first - now : 1;
    avr_raise_irq(avr_io_getirq(avr_, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), next->second);
    uart_->cycles_per_byte = cycles_per_byte;
    incoming_.erase(next);
    if (incoming_.empty()) {
        offering_ = false;
        return;
    }
    const std::uint64_t begins = incoming_.begin()->first - cycles_per_byte;
    at(std::max(begins, now + 1), [this] { offer_byte(); });
}

void Controller::reset(std::uint64_t when) {
    at(when, [this] {
        resetting_ = true;
        cause_ = Cause::reset;
        hung_ = true;  // this instruction is not to be finished: the reset is done by run()
    });
}

void Controller::hang(std::uint64_t when) {
    at(when, [this] { hung_ = true; });
}

void Controller::look_at_clock() {
    if (timer_->tov_cycles == 0 || timer_->tov_base == 0) return;
    constexpr std::uint64_t lap = 65536 * 8;
    clock_unknown_ = false;
    uart_->cycles_per_byte = cycles_per_byte;
    boots_.push_back({reset_cycle_, timer_->tov_base - (timer_->tov_base - reset_cycle_) / lap * lap, cause_});
    apply_pins();
}

void Controller::run(std::uint64_t end, bool stop_at_frame) {
    frame_ended_ = false;
    stop_ = end;
    if (stop_ < armed_for_) arm();
    while (avr_->cycle < end && !(stop_at_frame && frame_ended_)) {
        if (resetting_) {
            avr_reset(avr_);
            resetting_ = false;
        }
        if (timers_gone_) arm();
        if (hung_ && avr_->run == normal_run_) {
            avr_->cycle += 1;
            avr_cycle_timer_process(avr_);
            continue;
        }
        const int state = avr_run(avr_);
        if (clock_unknown_) look_at_clock();
        if (state == cpu_Done || state == cpu_Crashed) throw std::runtime_error("the firmware crashed");
    }
    stop_ = never;
}

std::vector<SentByte> Controller::take_sent() { return std::exchange(sent_, {}); }
std::vector<LampChange> Controller::take_lamps() { return std::exchange(lamps_, {}); }
std::vector<Boot> Controller::take_boots() { return std::exchange(boots_, {}); }

std::vector<std::uint8_t> Controller::memory() const {
    std::vector<std::uint8_t> bytes(1023);  // simavr refuses to hand out the very last one
    avr_eeprom_desc_t description{};
    description.ee = bytes.data();
    description.size = static_cast<std::uint32_t>(bytes.size());
    avr_ioctl(avr_, static_cast<std::uint32_t>(AVR_IOCTL_EEPROM_GET), &description);
    return bytes;
}

void Controller::set_memory(const std::vector<std::uint8_t>& bytes) {
    std::vector<std::uint8_t> copy = bytes;
    copy.resize(1023, 0xFF);
    avr_eeprom_desc_t description{};
    description.ee = copy.data();
    description.size = static_cast<std::uint32_t>(copy.size());
    avr_ioctl(avr_, static_cast<std::uint32_t>(AVR_IOCTL_EEPROM_SET), &description);
}

}  // namespace board
