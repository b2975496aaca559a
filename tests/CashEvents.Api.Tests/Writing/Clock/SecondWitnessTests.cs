using Microsoft.Extensions.Time.Testing;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

public sealed class SecondWitnessTests
{
    private readonly FakeTimeProvider _clock = new(RunningServer.Noon);
    private TimeSpan _steady = TimeSpan.FromHours(3);
    private DateTimeOffset? _elsewhere;

    private SecondWitness Witness(bool trusting = false) =>
        new(_clock, new SteadyTime(() => _steady), new ClockTrust(trusting), _ => Task.FromResult(_elsewhere));

    // How far the clock goes, how far steady time does, and how far the clock is believed, in hours.
    [Theory]
    [InlineData(1, 1, 1)]
    [InlineData(24, 0, 24)]
    [InlineData(25, 0, 0)]
    [InlineData(25, 1, 25)]
    [InlineData(26, 1, 1)]
    [InlineData(720, 720, 720)]
    [InlineData(720, 700, 720)]
    [InlineData(8760, 10, 10)]
    [InlineData(-5, 1, -5)]
    public async Task The_clock_is_believed_up_to_a_day_ahead_of_steady_time(int clock, int steady, int believed)
    {
        var witness = Witness();
        await witness.LookAsync(TestContext.Current.CancellationToken);

        _clock.AdjustTime(RunningServer.Noon.AddHours(clock));
        _steady += TimeSpan.FromHours(steady);
        var look = await witness.LookAsync(TestContext.Current.CancellationToken);

        Assert.Equal((RunningServer.Noon.AddHours(clock), RunningServer.Noon.AddHours(believed)),
            (look.Now, look.Believed));
    }

    [Fact]
    public async Task What_was_not_believed_is_not_believed_at_the_next_look_either()
    {
        var witness = Witness();
        await witness.LookAsync(TestContext.Current.CancellationToken);
        _clock.AdjustTime(RunningServer.Noon.AddDays(365));

        for (var minute = 1; minute < 4; minute++)
        {
            _steady += TimeSpan.FromMinutes(1);
            Assert.Equal(RunningServer.Noon.AddMinutes(minute),
                (await witness.LookAsync(TestContext.Current.CancellationToken)).Believed);
        }
    }

    [Fact]
    public async Task Another_machines_clock_is_believed_for_or_against_it()
    {
        var witness = Witness();
        _elsewhere = RunningServer.Noon;
        await witness.LookAsync(TestContext.Current.CancellationToken);

        _clock.AdjustTime(RunningServer.Noon.AddDays(3));
        Assert.Equal(RunningServer.Noon, (await witness.LookAsync(TestContext.Current.CancellationToken)).Believed);
        _elsewhere = RunningServer.Noon.AddDays(3);
        Assert.Equal(RunningServer.Noon.AddDays(3),
            (await witness.LookAsync(TestContext.Current.CancellationToken)).Believed);
        Assert.Equal(RunningServer.Noon.AddDays(3),
            (await Witness().LookAsync(TestContext.Current.CancellationToken)).Believed);
        _elsewhere = RunningServer.Noon;
        Assert.Equal(RunningServer.Noon, (await Witness().LookAsync(TestContext.Current.CancellationToken)).Believed);
        Assert.Equal(RunningServer.Noon.AddDays(3),
            (await Witness(trusting: true).LookAsync(TestContext.Current.CancellationToken)).Believed);
    }
}
