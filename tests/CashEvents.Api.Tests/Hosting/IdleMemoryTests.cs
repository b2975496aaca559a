using Xunit;

namespace CashEvents.Api.Tests.Hosting;

/// <summary>When memory is given back: once after work, while the program rests.</summary>
public sealed class IdleMemoryTests : IDisposable
{
    private readonly IdleMemory _memory = new(TimeProvider.System);

    [Fact]
    public void Nothing_is_collected_while_there_is_work() =>
        Assert.All(Enumerable.Range(1, 50), look => Assert.False(_memory.IsDue(look * IdleMemory.Rest)));

    [Fact]
    public void What_work_left_is_collected_once_it_rests()
    {
        Assert.False(_memory.IsDue(IdleMemory.Worth));

        Assert.True(_memory.IsDue(IdleMemory.Worth + 1));
        Assert.False(_memory.IsDue(IdleMemory.Worth + 2));
    }

    public void Dispose() => _memory.Dispose();

    [Fact]
    public void What_a_resting_program_takes_adds_up()
    {
        var dueAt = Enumerable.Range(1, 2_000).Select(look => look * 10_000L).First(_memory.IsDue);

        Assert.InRange(dueAt, IdleMemory.Worth, IdleMemory.Worth + 10_000);
    }
}
